package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/settings"
	"seamfit/internal/store"
)

// calibrating is a guided calibration under way.
type calibrating struct {
	d      *dialogue
	guide  metrology.Guide
	taken  []taken // as guide.Readings
	finest length.Length
	fixed  bool // the resolution is given, and does not follow the readings
}

// calibrateLive leads through a calibration. Nothing is stored before the
// last question.
func (a *app) calibrateLive(ctx context.Context, f calibrateFlags, files benchFiles) (err error) {
	if f.store {
		return usagef("--store is for --from; a live calibration asks at its end")
	}
	if f.readings < 0 || f.readings > 50 {
		return usagef("--readings %d is out of range; use 1 to 50", f.readings)
	}
	if err := visible("--note", f.note); err != nil {
		return err
	}
	setup, at, err := f.setup(files.settings)
	if err != nil {
		return err
	}
	if _, err := f.temperatures(files.settings.Calibration); err != nil {
		return err
	}
	records, err := a.existing(ctx, files.setup)
	if err != nil {
		return err
	}
	if records != nil {
		defer func() { err = errors.Join(err, records.Close()) }()
	}
	rods, warnings, err := a.rodsInUse(ctx, records, f.rods)
	if err != nil {
		return err
	}
	link, err := a.caliperFeed(files.settings)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var caliper feed
	if link != nil {
		caliper = link
		defer func() { err = errors.Join(err, link.Close()) }()
	}
	d := a.newDialogue(ctx, caliper)
	d.say("Calibration of %q against %d rods of the register.", files.settings.Caliper.Name, len(rods))
	for _, w := range warnings {
		d.say("! %s", w)
	}
	if link == nil {
		d.say("The settings name no port of the caliper: type its readings.")
	}
	record, err := a.askConditions(ctx, d, &f, files.settings, records)
	if err != nil {
		return err
	}
	if record.Conditions.Rods, err = metrology.Plan(rods, record.Conditions.Temperatures); err != nil {
		return err
	}
	if !f.pivotGiven {
		setup.Pivot = middle(record.Conditions.Rods)
	}
	c, err := f.begin(ctx, d, record, setup, files.settings, records)
	if err != nil {
		return err
	}
	if err := c.read(ctx); err != nil {
		return err
	}
	if err := c.into(ctx, &record, at); err != nil {
		return err
	}
	return a.concludeCalibration(ctx, d, f, record, records)
}

// middle is the whole millimetre in the middle of the rods, where offset and
// slope are nearly independent.
func middle(rods []metrology.PlannedRod) float64 {
	return math.Round((rods[0].Reference.MM() + rods[len(rods)-1].Reference.MM()) / 2)
}

// askConditions asks for the person and the temperature where no flag tells
// them.
func (a *app) askConditions(ctx context.Context, d *dialogue, f *calibrateFlags, s settings.Settings, records *store.Store) (metrology.Record, error) {
	r := metrology.Record{ID: a.newID(), Caliper: s.Caliper.Name, Note: f.note}
	var err error
	if r.By, err = person(ctx, f.by, records); err != nil {
		return r, err
	}
	for strings.TrimSpace(r.By) == "" {
		if r.By, err = d.question(ctx, "Who calibrates?"); err != nil {
			return r, err
		}
		if err := visible("the name", r.By); err != nil {
			d.say("  %s", err.Error())
			r.By = ""
		}
	}
	d.say("By %s.", r.By)
	for f.celsius == "" {
		answer, err := d.question(ctx, "Temperature of rods and caliper in °C (Enter: not taken)?")
		if err != nil {
			return r, err
		}
		if answer == "" {
			break
		}
		if _, err := celsius("the temperature", answer); err != nil {
			d.say("  %s", err.Error())
			continue
		}
		f.celsius = answer
	}
	r.Conditions.Temperatures, err = f.temperatures(s.Calibration)
	return r, err
}

// begin makes the guide: with the repeatability that the last calibration of
// the caliper measured, or else the settings'.
func (f calibrateFlags) begin(ctx context.Context, d *dialogue, r metrology.Record, setup metrology.CalibrationSetup, s settings.Settings, records *store.Store) (*calibrating, error) {
	last, err := records.LastCalibration(ctx, r.Caliper, d.now())
	if err != nil {
		return nil, err
	}
	c := &calibrating{d: d, fixed: setup.Resolution > 0}
	perRod := s.Calibration.ReadingsPerRod
	if f.readings > 0 {
		perRod = f.readings
	}
	c.guide, err = metrology.NewGuide(r.Conditions.Rods, perRod, repeatsKnown(last, s.Calibration), setup)
	if err != nil {
		return nil, err
	}
	d.say("Let rods and caliper lie together; wipe the jaws, close them, set zero.")
	d.say("Press the caliper's button, or type what it shows. Take the rod out between readings.")
	d.say("Other answers: aside REASON (the reading before; aside #2 REASON another) - next\n(enough of this rod) - quit")
	return c, nil
}

// fewestRepeats is the number of degrees of freedom from which a measured
// repeatability takes the place of the settings'.
const fewestRepeats = 5

// repeatsKnown returns the SD of single readings on a rod that is known
// before a calibration or a check.
func repeatsKnown(last *metrology.Record, s settings.Calibration) metrology.Component {
	if last != nil && last.Result.RepeatabilityMM != nil {
		dof := float64(last.Result.N - len(last.Result.Rods))
		if sd := *last.Result.RepeatabilityMM; sd > 0 && dof >= fewestRepeats {
			return metrology.Component{U: sd, DOF: dof}
		}
	}
	return metrology.Component{U: s.RepeatabilitySD.MM(), DOF: math.Inf(1)}
}

// read takes readings until no more are wanted.
func (c *calibrating) read(ctx context.Context) error {
	shown := -1
	for {
		rod, number, more := c.guide.Next()
		if !more {
			return nil
		}
		p := c.guide.Rods[rod]
		if rod != shown {
			c.d.say("")
			c.d.say("Rod %s, %.4f mm (%d of %d)", p.Rod.Name, p.Reference.MM(), rod+1, len(c.guide.Rods))
			shown = rod
		}
		reading, words, err := c.d.measure(ctx, fmt.Sprintf("  %s, reading %d of %d:", p.Rod.Name, number, c.guide.PerRod))
		if err != nil {
			return err
		}
		if reading != nil {
			err = c.take(ctx, rod, *reading)
		} else {
			err = c.answer(rod, words)
		}
		if err != nil {
			return err
		}
	}
}

// answer does what words say instead of a reading.
func (c *calibrating) answer(rod int, words string) error {
	word, rest, _ := strings.Cut(words, " ")
	rest = strings.TrimSpace(rest)
	switch strings.ToLower(word) {
	case "quit":
		return errQuit
	case "next":
		if c.last(rod) < 0 {
			c.d.say("  no reading of this rod counts yet; read it once at least")
			return nil
		}
		c.guide = c.guide.Skip(rod)
	case "aside":
		c.aside(rod, rest)
	default:
		c.d.say("  %s is no reading; press the button, type millimetres, or: aside REASON - next - quit", words)
	}
	return nil
}

// aside sets a reading of a rod aside: the one that is named as "#7 REASON",
// or the last. It says why it can't, and then reports false.
func (c *calibrating) aside(rod int, words string) bool {
	index, reason := c.last(rod), words
	if number, rest, _ := strings.Cut(words, " "); strings.HasPrefix(number, "#") {
		n, err := strconv.Atoi(number[1:])
		readings := c.guide.Readings()
		if err != nil || n < 1 || n > len(readings) || readings[n-1].Rod != rod || readings[n-1].SetAside != "" {
			c.d.say("  %s is no reading of this rod that counts", number)
			return false
		}
		index, reason = n-1, strings.TrimSpace(rest)
	}
	switch {
	case index < 0:
		c.d.say("  there is no reading of this rod to set aside")
		return false
	case reason == "" || visible("the reason", reason) != nil:
		c.d.say("  a reading is set aside only with the reason; write it behind the word, like: aside rod tilted")
		return false
	}
	c.setAside(index, reason)
	return true
}

func (c *calibrating) setAside(index int, reason string) {
	c.guide = c.guide.SetAside(index, reason)
	c.d.say("  #%d, %v, is set aside: %s", index+1, c.taken[index].value, reason)
}

// last returns the index of the last reading of a rod that counts; −1 for
// none.
func (c *calibrating) last(rod int) int {
	readings := c.guide.Readings()
	for i := len(readings) - 1; i >= 0; i-- {
		if readings[i].Rod == rod && readings[i].SetAside == "" {
			return i
		}
	}
	return -1
}

// take says how far a reading lies off, and asks about one that disagrees.
func (c *calibrating) take(ctx context.Context, rod int, t taken) error {
	if !c.fixed && (c.finest == 0 || t.step < c.finest) {
		c.finest = t.step
		c.guide = c.guide.WithResolution(t.step)
	}
	remark := c.guide.Judge(rod, t.value)
	residual := "-"
	if remark.Fitted {
		residual = fmt.Sprintf("%+.4f", remark.ResidualMM)
	}
	c.d.reply("#%-2d %8.4f mm  error %+.4f  residual %s", len(c.taken)+1, t.value.MM(), remark.ErrorMM, residual)
	c.guide, c.taken = c.guide.Take(rod, t.value), append(c.taken, t)
	if remark.Doubt == "" {
		return nil
	}
	return c.doubt(ctx, rod, remark)
}

// doubt asks what to do about the reading taken last.
func (c *calibrating) doubt(ctx context.Context, rod int, remark metrology.Remark) error {
	index := len(c.taken) - 1
	c.d.say("  ! disagrees: %s.", remark.Doubt)
	choices := "keep - aside REASON - again"
	if remark.Impossible {
		choices = "aside REASON - again"
	}
	for {
		answer, err := c.d.question(ctx, "  "+choices+"?")
		if err != nil {
			return err
		}
		word, reason, _ := strings.Cut(answer, " ")
		reason = strings.TrimSpace(reason)
		switch strings.ToLower(word) {
		case "keep":
			if remark.Impossible {
				c.d.say("  no calibration can use it; set it aside, or read again")
				continue
			}
			c.d.say("  kept")
			return nil
		case "again":
			c.setAside(index, "read again: "+remark.Doubt)
			return nil
		case "aside":
			if c.aside(rod, reason) && (!remark.Impossible || c.last(rod) != index) {
				return nil
			}
		case "quit":
			return errQuit
		default:
			c.d.say("  answer with one of: %s - quit", choices)
		}
	}
}

// into puts the readings and the result into the record. A kept reading that
// no calibration can use is asked about again.
func (c *calibrating) into(ctx context.Context, r *metrology.Record, at []float64) error {
	for {
		result, err := c.guide.Result()
		var row *metrology.RowError
		switch {
		case err == nil:
			if r.Result, err = result.Ask(at); err != nil {
				return err
			}
			c.record(r)
			return nil
		case !errors.As(err, &row) || row.Line == 0:
			return err
		}
		c.d.say("! reading %d: %s", row.Line, row.What)
		reason, err := c.d.question(ctx, "It can't be used. Why is it set aside?")
		if err != nil {
			return err
		}
		if reason == "" || visible("the reason", reason) != nil {
			continue
		}
		c.setAside(row.Line-1, reason)
		if err := c.read(ctx); err != nil {
			return err
		}
	}
}

func (c *calibrating) record(r *metrology.Record) {
	r.At = c.d.now()
	setup := c.guide.Setup()
	r.Conditions.Resolution, r.Conditions.MPE = setup.Resolution, setup.MPE
	for i, g := range c.guide.Readings() {
		rod := c.guide.Rods[g.Rod]
		r.Readings = append(r.Readings, metrology.RecordedReading{
			Rod: rod.Rod.ID, Raw: c.taken[i].raw, At: c.taken[i].at, Reference: rod.Reference, Reading: g.Value,
			RodU: rod.U(), SetAside: g.SetAside,
		})
	}
}

// concludeCalibration shows the result, and stores it when told to.
func (a *app) concludeCalibration(ctx context.Context, d *dialogue, f calibrateFlags, r metrology.Record, records *store.Store) error {
	holds := "without end"
	if f.validDays > 0 {
		r.ValidUntil = r.At.AddDate(0, 0, f.validDays)
		holds = "until " + r.ValidUntil.Format("2006-01-02")
	}
	d.say("")
	d.text(r.Table(80))
	keep, err := d.yes(ctx, fmt.Sprintf("Store it for caliper %q, in force from now %s?", r.Caliper, holds))
	if err != nil {
		return err
	}
	if !keep {
		d.say("Not stored.")
		if a.json() {
			return a.printCalibration(r, false)
		}
		return d.failed
	}
	if err := records.SaveCalibration(ctx, r); err != nil {
		return err
	}
	d.say("Stored.")
	if err := f.outputFlags.write(r); err != nil {
		return fmt.Errorf("the calibration is stored, but %w", err)
	}
	if a.json() {
		return a.printCalibration(r, true)
	}
	return d.failed
}
