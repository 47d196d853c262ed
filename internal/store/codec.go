package store

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// row is a fact on its way to its own table, fact_<kind>, under the key that
// it shares with the table fact. Values are int64, float64, string, []byte or
// nil, as SQLite holds them.
type row struct {
	kind   string
	values []any
}

// columns names the columns of each kind's table after the key, in the order
// of a row's values.
func columns(kind string) []string { return strings.Fields(kinds()[kind]) }

// kinds are the kinds of facts, with the columns of each.
func kinds() map[string]string {
	return map[string]string{
		"bird":          "species age sex leg site",
		"reading":       "axis means raw value_nm unit unit_assumed resolution_nm device channel feathers",
		"set_aside":     "reading reason",
		"estimate":      "readings n mean_mm u_mm dof expanded_mm coverage_factor calibrated range_mm critical_range_mm agrees calibration calibration_state feathers detail",
		"size":          "size metal closure method slot estimate verdict play p_tight p_loose reason",
		"band":          "band event number leg site conflict other condition scheme closure done reason stock_size stock_metal skipped",
		"closing":       "band findings",
		"statement":     "closing statement",
		"read_back":     "closing digits",
		"fate":          "fate reason decided_by",
		"incident":      "kind note",
		"resolved":      "reason",
		"supervised":    "closing findings",
		"measure":       "name means raw value unit resolution device channel",
		"circumstances": "nest brood captured captured_offset returned_to",
		"left":          "",
		"completion":    "",
	}
}

// encode returns the row of a fact of a handling.
func encode(f bench.Fact) (row, error) {
	switch f := f.(type) {
	case bench.BirdTold:
		return row{"bird", []any{f.Bird.Species, f.Bird.Age, f.Bird.Sex, string(f.Bird.Leg), string(f.Bird.Site)}}, nil
	case bench.ReadingTaken:
		return row{"reading", []any{
			string(f.Axis), string(f.Means), blob(f.Raw), int64(f.Value), f.Unit.String(), flag(f.UnitAssumed),
			int64(f.Resolution), f.Device, f.Channel, string(f.Feathers),
		}}, nil
	case bench.ReadingSetAside:
		return row{"set_aside", []any{int64(f.Reading), f.Reason}}, nil
	case bench.LegEstimated:
		return encodeEstimate(f)
	case bench.SizeChosen:
		return row{"size", []any{
			f.Size, f.Metal, f.Closure, string(f.Method), f.Slot, int64(f.Estimate), f.Verdict, f.Play, f.PTight, f.PLoose, f.Reason,
		}}, nil
	case bench.BandTold:
		return row{"band", []any{
			int64(f.Band), string(f.Event), f.Number, string(f.Leg), string(f.Site), string(f.Conflict), f.Other,
			f.Condition, f.Scheme, f.Closure, string(f.Then), f.Reason, f.StockSize, f.StockMetal, f.Skipped,
		}}, nil
	default:
		return encodeSeam(f)
	}
}

func encodeSeam(f bench.Fact) (row, error) {
	switch f := f.(type) {
	case bench.ClosingLooked:
		findings, err := jsonText(append([]string{}, f.Findings...))
		return row{"closing", []any{int64(f.Band), findings}}, err
	case bench.StatementMade:
		return row{"statement", []any{int64(f.Closing), f.Statement}}, nil
	case bench.NumberReadBack:
		return row{"read_back", []any{int64(f.Closing), f.Digits}}, nil
	case bench.Supervised:
		findings, err := jsonText(append([]string{}, f.Findings...))
		return row{"supervised", []any{int64(f.Closing), findings}}, err
	case bench.MeasureTaken:
		return row{"measure", []any{f.Name, string(f.Means), blob(f.Raw), f.Value, f.Unit, f.Resolution, f.Device, f.Channel}}, nil
	case bench.CircumstancesTold:
		captured, capturedOffset := moment(f.Captured)
		return row{"circumstances", []any{f.Nest, f.Brood, captured, capturedOffset, f.ReturnedTo}}, nil
	case bench.LeftHand:
		return row{"left", nil}, nil
	case bench.FateTold:
		return row{"fate", []any{string(f.Fate), f.Reason, f.DecidedBy}}, nil
	case bench.IncidentTold:
		return row{"incident", []any{f.Kind, f.Note}}, nil
	case bench.Resolved:
		return row{"resolved", []any{f.Reason}}, nil
	case bench.Completed:
		return row{"completion", nil}, nil
	default:
		return row{}, fmt.Errorf("a fact of type %T has no table", f)
	}
}

func encodeEstimate(f bench.LegEstimated) (row, error) {
	readings, err := jsonText(f.Readings)
	if err != nil {
		return row{}, err
	}
	detail, err := jsonText(estimateDetail{f.Leg, f.Agreement})
	return row{"estimate", []any{
		readings, int64(f.Leg.N), f.Leg.MeanMM, f.Leg.UMM, dof(f.Leg.DOF), f.Leg.ExpandedMM, f.Leg.CoverageFactor,
		flag(f.Leg.Calibrated), f.Agreement.RangeMM, f.Agreement.CriticalRangeMM, flag(f.Agreement.OK),
		f.Calibration, string(f.CalibrationState), string(f.Feathers), detail,
	}}, err
}

// estimateDetail is what an estimate's row keeps beside its columns.
type estimateDetail struct {
	Leg       fit.Leg       `json:"leg"`
	Agreement fit.Agreement `json:"agreement"`
}

// decode reads the row of a fact back. scan fills its arguments with the
// columns of the kind, in their order.
func decode(kind string, h bench.Head, scan func(...any) error) (bench.Fact, error) {
	switch kind {
	case "bird":
		f := bench.BirdTold{Head: h}
		err := scan(&f.Bird.Species, &f.Bird.Age, &f.Bird.Sex, &f.Bird.Leg, &f.Bird.Site)
		return f, err
	case "reading":
		return decodeReading(h, scan)
	case "set_aside":
		f := bench.ReadingSetAside{Head: h}
		err := scan(&f.Reading, &f.Reason)
		return f, err
	case "estimate":
		return decodeEstimate(h, scan)
	case "size":
		f := bench.SizeChosen{Head: h}
		err := scan(&f.Size, &f.Metal, &f.Closure, &f.Method, &f.Slot, &f.Estimate, &f.Verdict, &f.Play, &f.PTight, &f.PLoose, &f.Reason)
		return f, err
	case "band":
		f := bench.BandTold{Head: h}
		err := scan(&f.Band, &f.Event, &f.Number, &f.Leg, &f.Site, &f.Conflict, &f.Other,
			&f.Condition, &f.Scheme, &f.Closure, &f.Then, &f.Reason, &f.StockSize, &f.StockMetal, &f.Skipped)
		return f, err
	default:
		return decodeSeam(kind, h, scan)
	}
}

func decodeSeam(kind string, h bench.Head, scan func(...any) error) (bench.Fact, error) {
	switch kind {
	case "closing":
		f := bench.ClosingLooked{Head: h}
		err := scan(&f.Band, (*idList)(&f.Findings))
		return f, err
	case "supervised":
		f := bench.Supervised{Head: h}
		err := scan(&f.Closing, (*idList)(&f.Findings))
		return f, err
	case "measure":
		f := bench.MeasureTaken{Head: h}
		err := scan(&f.Name, &f.Means, &f.Raw, &f.Value, &f.Unit, &f.Resolution, &f.Device, &f.Channel)
		return f, err
	case "circumstances":
		return decodeCircumstances(h, scan)
	case "statement":
		f := bench.StatementMade{Head: h}
		err := scan(&f.Closing, &f.Statement)
		return f, err
	case "read_back":
		f := bench.NumberReadBack{Head: h}
		err := scan(&f.Closing, &f.Digits)
		return f, err
	case "left":
		return bench.LeftHand{Head: h}, nil
	case "fate":
		f := bench.FateTold{Head: h}
		err := scan(&f.Fate, &f.Reason, &f.DecidedBy)
		return f, err
	case "incident":
		f := bench.IncidentTold{Head: h}
		err := scan(&f.Kind, &f.Note)
		return f, err
	case "resolved":
		f := bench.Resolved{Head: h}
		err := scan(&f.Reason)
		return f, err
	case "completion":
		return bench.Completed{Head: h}, nil
	default:
		return nil, fmt.Errorf("%w: a fact of kind %q", ErrDamaged, kind)
	}
}

// idList is a JSON list of ids in one column; an empty one is nil.
type idList []string

// Scan reads the list.
func (l *idList) Scan(value any) error {
	stored, ok := value.(string)
	if !ok {
		return fmt.Errorf("%w: a list of type %T", ErrDamaged, value)
	}
	var ids []string
	err := json.Unmarshal([]byte(stored), &ids)
	if *l = nil; len(ids) > 0 {
		*l = ids
	}
	return err
}

// moment returns a time for its two columns; both empty for the zero time.
func moment(t time.Time) (at, atOffset string) {
	if t.IsZero() {
		return "", ""
	}
	return utc(t), offset(t)
}

func decodeCircumstances(h bench.Head, scan func(...any) error) (bench.Fact, error) {
	f := bench.CircumstancesTold{Head: h}
	var captured, capturedOffset string
	if err := scan(&f.Nest, &f.Brood, &captured, &capturedOffset, &f.ReturnedTo); err != nil || captured == "" {
		return f, err
	}
	at, err := parseTime(captured, capturedOffset)
	f.Captured = at
	return f, err
}

func decodeReading(h bench.Head, scan func(...any) error) (bench.Fact, error) {
	f := bench.ReadingTaken{Head: h}
	var unit string
	if err := scan(&f.Axis, &f.Means, &f.Raw, &f.Value, &unit, &f.UnitAssumed, &f.Resolution, &f.Device, &f.Channel, &f.Feathers); err != nil {
		return nil, err
	}
	u, err := length.ParseUnit(unit)
	f.Unit = u
	return f, err
}

func decodeEstimate(h bench.Head, scan func(...any) error) (bench.Fact, error) {
	f := bench.LegEstimated{Head: h}
	var readings, detail string
	var skipped [10]any // n to agrees, which stand in the detail as well
	dest := []any{&readings}
	for i := range skipped {
		dest = append(dest, &skipped[i])
	}
	if err := scan(append(dest, &f.Calibration, &f.CalibrationState, &f.Feathers, &detail)...); err != nil {
		return nil, err
	}
	if err := json.Unmarshal([]byte(readings), &f.Readings); err != nil {
		return nil, err
	}
	var d estimateDetail
	err := json.Unmarshal([]byte(detail), &d)
	f.Leg, f.Agreement = d.Leg, d.Agreement
	return f, err
}

func jsonText(v any) (string, error) {
	text, err := json.Marshal(v)
	return string(text), err
}

// dof writes infinite degrees of freedom as NULL.
func dof(d metrology.DOF) any {
	if math.IsInf(float64(d), 0) {
		return nil
	}
	return float64(d)
}

// blob keeps an empty value from becoming NULL.
func blob(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}

func flag(b bool) int64 {
	if b {
		return 1
	}
	return 0
}
