package export

// about says what a column holds, by its name in a file: a name means the same
// in every table. A name that is not here has no description.
func about(header string) string { return descriptions()[header] }

func descriptions() map[string]string {
	return map[string]string{
		"handling": "the bird in the hand: key of its records",
		"shift":    "the sitting at the bench",
		"seq":      "place of the fact within its handling, 1, 2, 3 …; never a time",
		"band":     "the band: of practice, its kind; else by the seq of the fact that brought it into the handling",
		"closing":  "seq of the closing that the confirmation belongs to",
		"reading":  "seq of the reading",
		"estimate": "seq of the leg estimate that the choice rests on; 0: not measured",
		"readings": "the readings: of an estimate by seq, of a calibration in full",
		"replaces": "seq of the fact that this one corrects; 0: none",
		"why":      "why it was corrected",
		"digest":   "SHA-256 over the content and the fact before, by which a change is found",
		"kind":     "kind of fact or incident",

		"at": "when it happened, UTC by the bench's clock", "at_offset": "local time less UTC then",
		"entered": "when it was put in, UTC", "entered_offset": "local time less UTC then",
		"opened": "when the bird was taken up, UTC", "opened_offset": "local time less UTC then",
		"left_hand": "when the bird left the hand, UTC",
		"started":   "when the shift began, UTC", "started_offset": "local time less UTC then",
		"declared":    "from when on the statements are asked for, UTC",
		"valid_until": "until when the calibration holds, UTC; empty: without end", "valid_until_offset": "local time less UTC then",
		"by": "who answers for it", "typed": "who put it in", "bander": "who handled the bird", "scribe": "who kept the record",
		"place": "of a shift: where the bench stood; of a number or a submission: which one, counted from 1", "permit": "the permit", "catalogue": "the table of band sizes",
		"training":        "whether these are training records",
		"clock_behind_ms": "how far the clock stood behind the last fact when the shift began",

		"species": "scientific name", "age": "age", "sex": "sex", "leg": "the leg that carries the band",
		"site": "below or above the intertarsal joint",

		"axis": "which width of the tarsus; wall: of a band that the bird wore", "feathers": "over or under feathers; empty: of the bare tarsus", "means": "how the width reached the bench",
		"value_mm": "the width as read, uncorrected", "unit": "the unit that the instrument showed",
		"unit_assumed": "whether the frame named no unit and the setting was taken", "resolution_mm": "step of the last digit",
		"raw": "the bytes that the instrument sent, escaped", "device": "the instrument", "channel": "the instrument's channel",
		"set_aside": "why the reading is out of the estimate; empty: it counts",

		"n": "number of readings", "mean_mm": "mean of the corrected readings", "u_mm": "standard uncertainty",
		"dof": "effective degrees of freedom; empty: infinite", "expanded_mm": "expanded uncertainty", "coverage_factor": "expanded over standard uncertainty",
		"calibrated": "whether a calibration corrected the readings", "range_mm": "largest less smallest reading",
		"critical_range_mm": "range that readings of one leg exceed once in twenty", "agrees": "whether the range is within it",
		"calibration": "the calibration of the caliper", "calibration_state": "whether that calibration held", "detail": "the estimate and its components in full",

		"size": "label of the band's size", "metal": "metal of the band", "closure": "closure kind", "method": "how the size was chosen",
		"slot":    "the slot of the leg gauge that fits, as the gauge names it",
		"verdict": "how the size fits", "play": "(inner diameter − leg width) / leg width",
		"p_tight": "probability that the play is below the limit", "p_loose": "probability that the play is above the limit",
		"size_reason": "why that size, where a reason was asked for", "reason": "the reason given",

		"findings":  "what the look found; an empty list: flush",
		"statement": "what was stated of the closing", "statements": "the statements asked for",
		"read_back": "the number, or its end, as read off the closed band", "version": "version of the declaration",
		"confirmed": "whether the last closing is confirmed flush", "complete": "whether the record is complete", "disputed": "whether a number stands against another record",

		"number": "number of the band, ? for an unread character", "state": "where the band is",
		"found": "whether the bird wore the band already", "done": "what was done about a found band",
		"condition": "condition of a found band", "scheme": "issuing scheme of a found band",
		"conflict": "what the number stood against when it was told", "other": "the handling that it stood against", "event": "what happened to the band",

		"fate": "how the bird left the hand", "fate_reason": "the reason given for the fate", "decided_by": "who decided to let the bird go",
		"resolved": "how an open matter was settled", "note": "what was noted",

		"rod_row": "row of the register", "name": "name of the rod", "diameter_mm": "certified diameter",
		"class": "tolerance class", "certified": "date of the certificate", "due": "date on which the certificate runs out",
		"material": "material of the rod", "expansion": "thermal expansion per kelvin; 0: not known",
		"caliper": "name of the caliper", "result": "the line and what is known of it",
		"settlement": "the settling", "handlings": "the birds whose records were told anew",
		"string": "the string of bands", "first": "its first number", "last": "its last number", "received": "how many numbers came",
		"missing": "numbers of its run that never came", "numbers": "SHA-256 over the numbers that it has or is about",
		"holder": "who has the band", "measures": "what was measured of closed bands",
		"stock_size": "the number's size in the stock then", "stock_metal": "the number's metal in the stock then",
		"skipped":  "the number before it in order, passed over for the reason given",
		"practice": "the practice closing", "trainer": "who looked as well", "dowel": "what stood in for the leg",
		"dowel_mm": "diameter of the dowel", "tool": "the pliers", "blind": "what the trainer's look found; empty: there was none",
		"measured": "what was measured of the closed band", "took_ms": "how long the closing took",
		"submission": "the submission", "map": "name of the map that it went through", "columns": "names of the fields",
		"fields": "the row as it was handed in", "birds": "SHA-256 over the rows", "change": "what became of the row since it was handed in",
		"check": "the check", "rod": "the rod", "error_mm": "mean less reference", "low_mm": "lower control limit", "high_mm": "upper control limit",
		"in_limits": "whether the error was within the limits", "answers": "the check that this row gives a reason for; empty: none",
		"retired": "why the rod is out of use; empty: in use", "conditions": "temperatures and what else held during the calibration",
	}
}
