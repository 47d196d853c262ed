package main

import (
	"seamfit/internal/bench"
	"seamfit/internal/settings"
	"seamfit/station"
)

// usual is what the settings say of every shift.
func usual(all settings.Settings) station.Usual {
	s := all.Shift
	u := station.Usual{Place: s.Place, Permit: s.Permit, Scribe: s.Scribe}
	if names := all.People.Banders; len(names) > 0 {
		u.Bander = names[0]
	}
	if s.Latitude != "" {
		u.Point = &bench.Point{Latitude: s.Latitude, Longitude: s.Longitude, AccuracyM: s.AccuracyM, Datum: s.Datum}
	}
	if s.PermitHolder != "" {
		u.Details = append(u.Details, bench.Person{Name: s.PermitHolder, Role: bench.RolePermitHolder})
	}
	for _, i := range s.Instruments {
		u.Details = append(u.Details, bench.Instrument{What: i.Kind, Name: i.Name, Note: i.Note})
	}
	return u
}
