package fit

// Warning is something the person must know beside a result. In JSON it is its
// text.
type Warning struct {
	Code string
	Text string
}

// MarshalText returns the text.
func (w Warning) MarshalText() ([]byte, error) { return []byte(w.Text), nil }

// UnmarshalText takes the text; the code of a warning that was written is not
// known any more.
func (w *Warning) UnmarshalText(text []byte) error {
	*w = Warning{Text: string(text)}
	return nil
}

// The codes of warnings, in order of harm: results list them so.
const (
	CodeNoMetal      = "no_metal_band"   // this species gets no metal leg band
	CodeMisfit       = "listed_misfit"   // a size of the office's list does not fit this leg
	CodeClosure      = "closure"         // closure kind not allowed for the species
	CodeSite         = "site"            // above the joint only
	CodeYoung        = "young"           // the leg may still be growing
	CodeNoFit        = "no_fit"          // no size of the catalogue fits
	CodeDisagree     = "disagree"        // the readings disagree
	CodeStop         = "stop"            // a stop is not wider than the leg
	CodeCross        = "cross"           // the cross width is the wider one
	CodeRange        = "known_range"     // width outside the species' known range
	CodeHistory      = "history"         // width far from this bench's own birds
	CodeAlike        = "alike"           // neighbouring sizes can't be told apart
	CodeFeathers     = "feathers"        // measured over or under feathers
	CodeTall         = "tall"            // band and marks higher than the tarsus
	CodeMetal        = "metal"           // soft metal where hard is advised
	CodeSingle       = "single"          // one reading only
	CodeExtrapolated = "extrapolated"    // outside what the rods covered
	CodeUnverified   = "unverified"      // the list's row is not verified
	CodeUncalibrated = "uncalibrated"    // no calibration in force
	CodeDiscontinued = "discontinued"    // no longer made
	CodeLooseListed  = "listed_loose"    // the list's size, loose by play: advice only
	CodeUnjudged     = "not_round"       // formulas for round bands do not hold
	CodeUnknownSize  = "unlisted_in_cat" // the list names a size the catalogue lacks
)
