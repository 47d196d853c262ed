package export

import "strings"

// constraints are what Table Schema can say about the values of a column.
type constraints struct {
	Required bool     `json:"required,omitempty"`
	Unique   bool     `json:"unique,omitempty"`
	Minimum  *float64 `json:"minimum,omitempty"`
	Maximum  *float64 `json:"maximum,omitempty"`
	Pattern  string   `json:"pattern,omitempty"`
	Enum     []string `json:"enum,omitempty"`
}

// constraints returns what holds for a column; nil when nothing is known.
func (t Table) constraints(c Column) *constraints {
	rule := constraints{Required: c.Required, Unique: len(t.Key) == 1 && t.Key[0] == c.Header(), Enum: words(t.Name, c.Header())}
	least, most := c.bounds()
	rule.Minimum, rule.Maximum = least, most
	switch {
	case c.Kind == Offset:
		rule.Pattern = "[+-][0-9]{2}:[0-9]{2}"
	case c.Header() == "digest":
		rule.Pattern = "[0-9a-f]{64}"
	}
	if !rule.Required && !rule.Unique && rule.Enum == nil && least == nil && most == nil && rule.Pattern == "" {
		return nil
	}
	return &rule
}

// bounds returns the least and the greatest value of a column's numbers.
func (c Column) bounds() (least, most *float64) {
	zero, one := 0.0, 1.0
	if c.Kind != Whole && c.Kind != Number && c.Kind != Length {
		return nil, nil
	}
	switch h := c.Header(); {
	case strings.HasPrefix(h, "p_"):
		return &zero, &one
	case h == "latitude":
		return degrees(90)
	case h == "longitude":
		return degrees(180)
	case h == "seq", h == "n", h == "version", h == "band", h == "closing", h == "reading":
		return &one, nil
	case h == "value_mm", h == "resolution_mm", h == "diameter_mm", h == "u_mm", h == "range_mm", h == "clock_behind_ms", h == "estimate", h == "replaces", h == "accuracy_m":
		return &zero, nil
	default:
		return nil, nil
	}
}

func degrees(most float64) (least, greatest *float64) {
	low := -most
	return &low, &most
}

// words are the values that a column may have, beside none.
func words(table, header string) []string {
	list := ""
	switch header {
	case "leg":
		list = "left,right"
	case "site":
		list = "below,above"
	case "axis":
		list = "greatest,cross,upper stop,lower stop,usable tarsus,other marks,wall"
	case "means":
		list = "caliper,typed"
	case "unit":
		if table == "readings" {
			list = "mm,in"
		}
	case "role":
		list = "bander,scribe,trainee,supervisor,permit holder"
	case "method":
		list = "caliper,leg gauge,established,not measured"
	case "calibration_state":
		list = "in force,expired,missing,late"
	case "state":
		list = "in stock,opened,on bird,destroyed,lost,rejected,returned"
		switch table {
		case "bands":
			list = "opened,put back,on bird,destroyed"
		case "handed_out":
			list = "begun,out"
		}
	case "change":
		list = "new,corrected,withdrawn"
	case "event":
		list = "planned,returned,renumbered,settled,found,removed"
	case "done":
		list = "left,worked,replaced"
	case "conflict":
		list = "used,destroyed,in hand,unknown"
	case "fate":
		list = "banded,unbanded,unconfirmed,escaped,died"
	case "kind":
		switch table {
		case "stock_events":
			list = "rejected,opened,passed,lost,found,returned,destroyed,measured,counted"
		case "facts":
			list = "bird,reading,set_aside,estimate,size,band,closing,statement,read_back,left,fate,incident,resolved,completion,supervised,measure,circumstances"
		case "shift_facts":
			list = "place,person,watch,instrument"
		}
	}
	if list == "" {
		return nil
	}
	return strings.Split(list, ",")
}
