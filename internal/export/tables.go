package export

import "strings"

// Kind is what a column holds, and so how it is written.
type Kind string

// The kinds of columns. A Length is nanometres in the records and millimetres,
// exact, in a file; Bytes are escaped as in a Go string; a Flag is true or
// false.
const (
	Text    Kind = "text"
	Whole   Kind = "whole"
	Number  Kind = "number"
	Flag    Kind = "flag"
	Length  Kind = "length"
	Bytes   Kind = "bytes"
	Instant Kind = "instant"
)

// Column is one column of a table: its name in the records and what it holds.
type Column struct {
	Name string
	Kind Kind
}

// Header returns the column's name in a file. The unit is part of it.
func (c Column) Header() string {
	if c.Kind == Length {
		return strings.TrimSuffix(c.Name, "_nm") + "_mm"
	}
	return c.Name
}

// Table is one table of an export.
type Table struct {
	Name    string
	Columns []Column
}

// names returns the columns' names in the records.
func (t Table) names() []string {
	names := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		names[i] = c.Name
	}
	return names
}

// table reads a table from words "name:kind"; a word without a kind is text.
func table(name, columns string) Table {
	t := Table{Name: name}
	for _, word := range strings.Fields(columns) {
		column, kind, given := strings.Cut(word, ":")
		if !given {
			kind = string(Text)
		}
		t.Columns = append(t.Columns, Column{Name: column, Kind: Kind(kind)})
	}
	return t
}

// Tables returns the tables of an export. All of them hold the handling; seq
// is the place of a row's fact in it. closings.band, band_events.band and
// bands.band name a band by the fact that brought it; confirmations.closing,
// sizes.estimate and leg_estimates.readings name facts of the same handling.
func Tables() []Table {
	const who = " at:instant at_offset by"
	return []Table{
		table("handlings", `handling shift place permit catalogue training:flag bander opened:instant opened_offset left_hand:instant
			species age sex leg site size metal closure method verdict size_reason number fate fate_reason decided_by
			confirmed:flag complete:flag disputed:flag resolved`),
		table("readings", `handling seq:whole axis means value_nm:length unit unit_assumed:flag resolution_nm:length raw:bytes device channel
			set_aside`+who+` typed entered:instant entered_offset`),
		table("leg_estimates", `handling seq:whole n:whole mean_mm:number u_mm:number dof:number expanded_mm:number coverage_factor:number
			calibrated:flag range_mm:number critical_range_mm:number agrees:flag calibration calibration_state readings detail`+who),
		table("sizes", `handling seq:whole size metal closure method estimate:whole verdict play:number p_tight:number p_loose:number reason`+who),
		table("closings", `handling seq:whole band:whole findings`+who),
		table("confirmations", `handling seq:whole closing:whole statement read_back`+who),
		table("bands", `handling band:whole number state leg site found:flag done condition scheme conflict other reason`),
		table("band_events", `handling seq:whole band:whole event number leg site conflict other condition scheme closure done reason`+who+`
			replaces:whole why`),
		table("fates", `handling seq:whole fate reason decided_by`+who),
		table("incidents", `handling seq:whole kind note`+who),
	}
}
