package settings

import (
	"time"

	"seamfit/internal/length"
)

// Settings is one bench.toml.
type Settings struct {
	Bench   Bench   `toml:"bench" comment:"The bench and how it is worked."`
	Shift   Shift   `toml:"shift" comment:"What usually holds for a shift."`
	People  People  `toml:"people" comment:"The people of the bench."`
	Measure Measure `toml:"measure" comment:"Measuring and judging sizes. Lengths in millimetres."`
	Wear    Wear    `toml:"wear" comment:"How bands wear at this place."`
	Caliper Caliper `toml:"caliper" comment:"The caliper."`
	Scanner Scanner `toml:"scanner" comment:"The bar code scanner, when it has a serial port of its own."`

	Seam     Seam     `toml:"seam" comment:"Judging a closed band from measurements. Lengths in millimetres."`
	Practice Practice `toml:"practice" comment:"Practice closings and the bench target."`

	Calibration Calibration `toml:"calibration" comment:"Calibrating the caliper against rods, and checking it. Lengths in millimetres."`

	Backup Backup `toml:"backup" comment:"Copies of the records."`
}

// Bench is how the bench is worked. All of it is bench settings.
type Bench struct {
	Name           string   `toml:"name" comment:"What this bench is called in its records."`
	Catalogue      string   `toml:"catalogue" comment:"The table of band sizes: us-federal, uk-europe, or one of your own."`
	CatalogueFiles []string `toml:"catalogue_files" comment:"Your own catalogue files, in the order in which they are laid over the embedded ones."`
	NumberPattern  string   `toml:"number_pattern" comment:"How band numbers are written: federal, general, or one of your own."`
	PatternFiles   []string `toml:"pattern_files" comment:"Your own number patterns."`
	Readings       int      `toml:"readings" comment:"Readings of the leg width asked for, 1 to 10 (bench setting)."`
	HandlingLimitS int      `toml:"handling_limit_s" comment:"Seconds after capture at which the bench reminds; 0 = never (bench setting: no official limit was found)."`
	ClosingsLimit  int      `toml:"closings_limit" comment:"Closings of one band after which the bench advises to take it off (bench setting)."`
	BandsLimit     int      `toml:"bands_limit" comment:"Bands put on one bird and taken off again, after which the bench refuses to plan another; 0 = never (bench setting)."`
	RedTheme       bool     `toml:"red_theme" comment:"Red on black, without bell, for night work."`
	Bell           bool     `toml:"bell" comment:"A bell tells a capture from a refusal."`
}

// FurtherMeasure is one that the bench takes beside the leg.
type FurtherMeasure struct {
	Name   string  `toml:"name" comment:"What is measured, as the records call it."`
	Unit   string  `toml:"unit" comment:"Its unit: mm and in can come from the caliper, any other is typed."`
	Method string  `toml:"method" comment:"How it is taken."`
	AtMost float64 `toml:"at_most" comment:"A value above this is refused as a slip; 0: none is (bench setting)."`
}

// HandlingLimit returns the time after capture at which the bench reminds; 0
// when it never does.
func (b Bench) HandlingLimit() time.Duration { return time.Duration(b.HandlingLimitS) * time.Second }

// Millimetres is a length that the file writes as a number of millimetres. It
// is read from the number's text, digit for digit, never through a float.
type Millimetres struct{ length.Length }

// Measure is how leg widths are judged.
type Measure struct {
	RepeatabilitySD    Millimetres `toml:"repeatability_sd_mm" comment:"SD of repeated readings while the bench's history is too short to tell (bench setting)."`
	MPE                Millimetres `toml:"mpe_mm" comment:"Maximum permissible error of the caliper (0.01 mm digital caliper up to 100 mm: 20 µm, DIN 862)."`
	Resolution         Millimetres `toml:"resolution_mm" comment:"Smallest step the caliper shows; 0 = the step of the last digit it sends."`
	MinPlay            float64     `toml:"min_play" comment:"Play below which a band is tight (below 6 %: Tarsus program, Aranzadi Ringing Scheme, Ringing & Migration)."`
	MaxPlay            float64     `toml:"max_play" comment:"Play above which a band is loose (above 50-60 %, same source; an average of a scheme, not a limit for one bird)."`
	TargetPlay         float64     `toml:"target_play" comment:"Play of the best size (mean 32 %, same source)."`
	OneSidedAllowance  Millimetres `toml:"one_sided_allowance_mm" comment:"Added for readings that miss the widest axis or press the skin: both read low (bench setting)."`
	BetweenBanderSD    Millimetres `toml:"between_bander_sd_mm" comment:"SD between banders, from a study of yours (bench setting)."`
	AbsurdOver         Millimetres `toml:"absurd_over_mm" comment:"A leg width above this is refused as a slip (bench setting)."`
	Established        []string    `toml:"established" comment:"Species whose listed size is taken without measuring, by scientific or English name, where the list is verified or your own (bench setting)."`
	RequireCalibration bool        `toml:"require_calibration" comment:"Refuse to complete a record measured without a calibration in force (bench setting)."`

	Further []FurtherMeasure `toml:"further" comment:"Further measures of a bird, like [{ name = 'wing', unit = 'mm', method = 'flattened', at_most = 900 }]: mm and in can come from the caliper; a value over at_most is refused as a slip (bench setting)."`
}

// Wear is what the bench knows of wear at its place. All of it is bench
// settings; rates of wear are in the catalogue.
type Wear struct {
	Water        string  `toml:"water" comment:"What the birds of this place stand in, when it speaks for hard metal: salt, abrasive, or empty (bench setting)."`
	ReadablePart float64 `toml:"readable_part" comment:"Part of a new band's wall at which its number can no longer be read (bench setting)."`
}

// Caliper is how the caliper is connected.
type Caliper struct {
	Name    string `toml:"name" comment:"What this caliper is called in its records."`
	Port    string `toml:"port" comment:"Serial port; empty = none."`
	ID      string `toml:"id" comment:"The device behind the port, as find writes it, so that it is followed to another name; empty = whatever is on the port."`
	Form    string `toml:"form" comment:"Wire form: plain, print, channel, wide, multiplexed, nibbles, typed."`
	Baud    int    `toml:"baud" comment:"Speed of the port."`
	Framing string `toml:"framing" comment:"Data bits 7 or 8, parity N, E or O, stop bits 1 or 2."`
	Unit    string `toml:"unit" comment:"Unit of frames that name none: mm or in."`
	QuietS  int    `toml:"quiet_s" comment:"Seconds of silence, while readings are expected, after which the link is doubted; 0 = never (bench setting)."`

	DecimalComma bool `toml:"decimal_comma" comment:"Of a caliper that types: its decimal mark is a comma, as the keyboard's layout has it."`

	AnswerS       float64 `toml:"answer_s" comment:"Seconds that a caliper may take to answer when it is asked (bench setting)."`
	Streams       string  `toml:"streams" comment:"Does it send by itself all the time, without a press? yes, no, or empty: as its wire form usually does."`
	SteadySamples int     `toml:"steady_samples" comment:"Of a stream: samples within one step that make a reading (bench setting)."`
	SteadyS       float64 `toml:"steady_s" comment:"Of a stream: seconds for which they must stay there (bench setting)."`
}

// Quiet returns the time of silence after which the link is doubted; 0 when
// it never is.
func (c Caliper) Quiet() time.Duration { return time.Duration(c.QuietS) * time.Second }

// Answer returns how long an asked caliper may take.
func (c Caliper) Answer() time.Duration { return seconds(c.AnswerS) }

// Steady returns for how long a stream must stay within one step.
func (c Caliper) Steady() time.Duration { return seconds(c.SteadyS) }

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// LengthUnit returns the unit of frames that name none.
func (c Caliper) LengthUnit() length.Unit {
	unit, err := length.ParseUnit(c.Unit)
	if err != nil {
		return length.UnknownUnit // not in settings that Load returned
	}
	return unit
}

// Scanner is how a scanner with a serial port is connected; one that types as
// a keyboard needs no port.
type Scanner struct {
	Port    string `toml:"port" comment:"Serial port; empty = none, or a scanner that types like a keyboard."`
	Baud    int    `toml:"baud" comment:"Speed of the port."`
	Framing string `toml:"framing" comment:"Data bits 7 or 8, parity N, E or O, stop bits 1 or 2."`
	Prefix  string `toml:"prefix" comment:"What the scanner is set to send before each code."`
	Suffix  string `toml:"suffix" comment:"What it is set to send after each code, before the line end."`

	Code39Check bool `toml:"code39_check" comment:"The last character of each code is a Code 39 check character, which is verified and taken off."`
}

// Default returns the settings of a new bench.
func Default() Settings {
	um := func(n length.Length) Millimetres { return Millimetres{n * length.Micrometre} }
	seam, practice := defaultSeam()
	return Settings{
		Seam: seam, Practice: practice, Calibration: defaultCalibration(), Backup: defaultBackup(),
		Bench: Bench{
			Name: "bench", Catalogue: "us-federal", CatalogueFiles: []string{}, NumberPattern: "federal", PatternFiles: []string{},
			Readings: 3, HandlingLimitS: 600, ClosingsLimit: 4, BandsLimit: 2, Bell: true,
		},
		Measure: Measure{
			RepeatabilitySD: um(30), MPE: um(20), MinPlay: 0.06, MaxPlay: 0.60, TargetPlay: 0.32,
			AbsurdOver: um(60_000), Established: []string{}, Further: []FurtherMeasure{},
		},
		Shift:  Shift{Instruments: []Instrument{}},
		People: People{Banders: []string{}, Trainees: []string{}, Supervisors: []string{}},
		Wear:   Wear{ReadablePart: 0.5},
		Caliper: Caliper{
			Name: "caliper", Form: "plain", Baud: 4800, Framing: "7E2", Unit: "mm",
			AnswerS: 2, SteadySamples: 4, SteadyS: 0.6,
		},
		Scanner: Scanner{Baud: 9600, Framing: "8N1"},
	}
}
