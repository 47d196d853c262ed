package export

import "slices"

// Tables returns the tables of an export. Those of birds hold the handling;
// seq is the place of a row's fact in it. closings.band, band_events.band and
// bands.band name a band by the fact that brought it; confirmations.closing,
// sizes.estimate (0: not measured), set_asides.reading and
// leg_estimates.readings name facts of the same handling.
//
// A column is in one link only: readers of data packages put the row that a
// link finds in the place of its columns, and the next link would compare
// that. Each table leads to handlings all the same, most of them over facts.
func Tables() []Table {
	return slices.Concat(birdTables(), benchTables(), stockTables())
}

func birdTables() []Table {
	const (
		key = "handling! seq:whole! "
		who = " at:instant! at_offset:offset! by"
	)
	ofFact := link("handling seq", "facts", "handling seq")
	ofBand := link("handling band", "bands", "handling band")
	return []Table{
		table("handlings", "One row for each bird in the hand, as it stands now", "handling",
			`handling! shift! place permit catalogue training:flag! bander opened:instant! opened_offset:offset! left_hand:instant
			species age sex leg site! size metal closure method verdict size_reason number fate fate_reason decided_by
			confirmed:flag! complete:flag! disputed:flag! resolved`,
			link("shift", "shifts", "shift")),
		table("facts", "Everything that was told of a bird, in order: who, when, and the digest that guards it", "handling seq",
			key+`kind! at:instant! at_offset:offset! entered:instant! entered_offset:offset! by typed replaces:whole! why digest!`,
			link("handling", "handlings", "handling")),
		table("birds", "What was said of the bird, each time it was said; the last counts", "handling seq",
			key+"species age sex leg site!", ofFact),
		table("readings", "Widths as they came from the caliper or the keys", "handling seq",
			key+`axis! means! value_nm:length! unit! unit_assumed:flag! resolution_nm:length! raw:bytes device channel feathers
			set_aside`+who+` typed entered:instant! entered_offset:offset!`, ofFact),
		table("set_asides", "Readings taken out of the estimate, and why", "handling seq",
			key+"reading:whole! reason!", link("handling reading", "readings", "handling seq")),
		table("leg_estimates", "Estimates of the leg's width from readings", "handling seq",
			key+`n:whole! mean_mm:number! u_mm:number! dof:number expanded_mm:number! coverage_factor:number!
			calibrated:flag! range_mm:number! critical_range_mm:number! agrees:flag! calibration calibration_state! feathers readings:list! detail:object!`+who,
			ofFact, link("calibration", "calibrations", "calibration")),
		table("sizes", "Choices of a band's size", "handling seq",
			key+`size! metal! closure! method! slot estimate:whole! verdict play:number! p_tight:number! p_loose:number! reason`+who, ofFact),
		table("closings", "Full workings of the seam, each with its look; no findings: flush", "handling seq",
			key+"band:whole! findings:list!"+who, ofBand),
		table("confirmations", "Statements about a closing, and numbers read back off the closed band", "handling seq",
			key+"closing:whole! statement read_back"+who, link("handling closing", "closings", "handling seq")),
		table("bands", "Each band of each bird, as it stands now", "handling band",
			`handling! band:whole! number! state! leg site! found:flag! done condition scheme conflict other reason`,
			link("handling", "handlings", "handling")),
		table("band_events", "What happened to bands", "handling seq",
			key+`band:whole! event! number leg site! conflict other condition scheme closure done reason
			stock_size stock_metal skipped`+who+` replaces:whole! why`, ofBand),
		table("fates", "How birds left the hand; the last of a handling counts", "handling seq",
			key+"fate! reason decided_by"+who, ofFact),
		table("incidents", "Injuries, stress, deaths and anything else not to be lost", "handling seq",
			key+"kind! note"+who, ofFact),
		table("supervisions", "A supervisor's look at a closing that was looked at as flush; what it found is found of that closing", "handling seq",
			key+"closing:whole! findings:list!"+who, link("handling closing", "closings", "handling seq")),
		table("measures", "Further measures of the bird, as the settings name them; of a name the last counts", "handling seq",
			key+`name! means! raw:bytes value:number! unit! resolution:number device channel`+who+
				` typed entered:instant! entered_offset:offset! replaces:whole! why`, ofFact),
		table("circumstances", "Where and when the bird was caught, and where it was put back; the last counts", "handling seq",
			key+"nest brood captured:instant captured_offset:offset returned_to"+who+" replaces:whole! why", ofFact),
		table("resolutions", "Open matters that were settled, and why", "handling seq",
			key+"reason!", ofFact),
	}
}

// benchTables are about the bench and not about one bird.
func benchTables() []Table {
	const who = " at:instant! at_offset:offset! by"
	ofShiftFact := link("shift seq", "shift_facts", "shift seq")
	return []Table{
		table("shifts", "Sittings at the bench", "shift",
			`id=shift! started:instant! started_offset:offset! place bander scribe permit catalogue training:flag! clock_behind_ms:whole! digest!`),
		table("shift_ends", "Shifts that were closed", "shift",
			"shift!"+who+" note digest!", link("shift", "shifts", "shift")),
		table("shift_facts", "What was told of a shift itself, in order, and the digest that guards it", "shift seq",
			"shift! seq:whole! kind!"+who+" content:object! digest!", link("shift", "shifts", "shift")),
		table("shift_places", "Where the bench stood; the last of a shift counts", "shift seq",
			"shift! seq:whole! latitude:number! longitude:number! accuracy_m:number datum", ofShiftFact),
		table("shift_people", "Who did what in a shift", "shift seq",
			"shift! seq:whole! name! role!", ofShiftFact),
		table("watch_checks", "The bench's clock against a watch", "shift seq",
			"shift! seq:whole! watch:instant! clock:instant!", ofShiftFact),
		table("instruments", "What was used in a shift beside the caliper", "shift seq",
			"shift! seq:whole! kind! name! note", ofShiftFact),
		table("settlements", "Disputes that were settled, with the records told anew", "settlement",
			"id=settlement!"+who+" handlings:list! reason! digest!"),
		table("merges", "Files of other benches whose records were taken in", "merge",
			"id=merge!"+who+" file! shifts:list! gauged:list! digest!"),
		table("merge_ends", "Which of them came to their end", "merge",
			"merge!", link("merge", "merges", "merge")),
		table("merge_kept", "What another bench has otherwise, as it is there", "kept",
			"id=kept! kind! key! seq=chain_seq:whole! rows:list! why digest!"),
		table("merge_settlements", "That what stands here is true, whatever was kept", "merge_settlement",
			"id=merge_settlement!"+who+" settles:list! reason! digest!"),
		table("practice", "Closings on a dowel, for practice", "practice",
			"id=practice!"+who+` trainer size! metal! closure! dowel! dowel_nm:length! band number tool findings:list! blind:list measured:object took_ms:whole! digest!`),
		table("submissions", "What was handed to an office in one go", "submission",
			"id=submission! map! place:whole! columns:list!"+who+" birds digest!"),
		table("submitted", "The rows of birds as they were handed in", "submission handling",
			"submission! handling! change! fields:list!", link("handling", "handlings", "handling"), link("submission", "submissions", "submission")),
		table("handed_out", "Where the files of a submission were to go (begun), and that they were there (out)", "submission state",
			"submission! state! folder! at:instant! at_offset:offset!", link("submission", "submissions", "submission")),
		table("declarations", "The statements that each closure kind asks for, from when on", "closure version",
			"closure! version:whole! declared:instant! statements:list!"),
		table("rods", "The register of reference rods; a later row of a name replaces an earlier one", "rod_row",
			`id=rod_row! name! diameter_nm:length! u_nm:length! class certified due material expansion:number! retired entered:instant! entered_offset:offset! by digest!`),
		table("calibrations", "Calibrations of calipers, with their readings and results", "calibration",
			`id=calibration! caliper!`+who+` valid_until:instant valid_until_offset:offset note conditions:object! readings:list! result:object! digest!`),
		table("checks", "Looks at a rod before a shift", "check",
			`id=check! caliper!`+who+` rod n:whole! mean_nm:length! error_nm:length! low_nm:length! high_nm:length! in_limits:flag! reason answers calibration readings:list! digest!`),
	}
}

// stockTables are about the numbers that the bench keeps.
func stockTables() []Table {
	const who = " at:instant! at_offset:offset! by"
	ofString := link("string", "strings", "string")
	return []Table{
		table("strings", "Strings of bands as they were received", "string",
			`id=string! first! last! received:whole! size! metal! missing:list note`+who+` entered:instant! entered_offset:offset! numbers digest!`),
		table("numbers", "Every number of the stock, as it stands now", "number",
			"string! place:whole! number! size! metal! state! holder", ofString),
		table("stock_events", "What happened to numbers of the stock", "string seq",
			`string! seq:whole! kind!`+who+` entered:instant! entered_offset:offset! holder reason measures:object numbers digest!`, ofString),
		table("stock_marks", "The numbers that each event of the stock was about, and where it left them", "string seq number",
			"string! seq:whole! number! state", link("string seq", "stock_events", "string seq"), link("number", "numbers", "number")),
	}
}
