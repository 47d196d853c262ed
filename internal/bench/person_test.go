package bench_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
)

// by returns the head of a command by somebody.
func by(name string) bench.When { return bench.When{By: name} }

// taught is a desk with a trainee, whose band is closed flush.
func taught(t *testing.T, people ...bench.Person) *desk {
	t.Helper()
	d := newDesk(t)
	for _, p := range people {
		d.do(bench.TellShift{Detail: p})
	}
	d.gull("1236-56701")
	d.do(bench.Look{})
	return d
}

func TestATraineesConfirmationWaitsForTheSupervisorsLook(t *testing.T) {
	d := taught(t, bench.Person{Name: "L. Bye", Role: bench.RoleTrainee}, bench.Person{Name: "K. Voe", Role: bench.RoleSupervisor})
	d.do(bench.Confirm{When: by("l. bye"), All: true, ReadBack: "701"})
	d.do(bench.TellFate{Fate: bench.FateBanded})
	assert.False(t, d.active().Confirmed(d.state.Setup.Book))
	d.refused(bench.Complete{}, bench.SupervisorMissing)
	d.refused(bench.Supervise{When: by("L. Bye")}, bench.NotSupervisor)
	d.refused(bench.Supervise{When: by("A. Holm")}, bench.NotSupervisor)
	d.do(bench.Supervise{When: by("K. Voe")})
	assert.Equal(t, "K. Voe", d.active().Confirmation.Supervised)
	facts := len(d.facts)
	d.do(bench.Supervise{When: by("K. Voe")})
	assert.Len(t, d.facts, facts, "said once")
	d.do(bench.Complete{})
	assert.True(t, d.active().Done())
}

// One statement by a trainee is enough; all by others need nobody.
func TestWhoseWordWaits(t *testing.T) {
	for _, c := range []struct {
		said, back string
		waits      bool
	}{{"A. Holm", "A. Holm", false}, {"A. Holm", "L. Bye", true}, {"L. Bye", "A. Holm", true}} {
		d := taught(t, bench.Person{Name: "L. Bye", Role: bench.RoleTrainee})
		d.do(bench.Confirm{When: by(c.said), All: true})
		d.do(bench.Confirm{When: by(c.back), ReadBack: "701"})
		assert.Equal(t, !c.waits, d.active().Confirmed(d.state.Setup.Book), "%+v", c)
		d.do(bench.Supervise{When: by("anybody else")})
		assert.True(t, d.active().Confirmed(d.state.Setup.Book), "no supervisor is named: anyone but a trainee looks")
		d.do(bench.Look{})
		d.do(bench.Confirm{When: by("L. Bye"), All: true, ReadBack: "701"})
		assert.False(t, d.active().Confirmed(d.state.Setup.Book), "a later closing voids the look too")
	}
}

// What the supervisor finds is found of that closing; it is no closing more.
func TestASupervisorsFindingOutranksTheTraineesLook(t *testing.T) {
	d := taught(t, bench.Person{Name: "L. Bye", Role: bench.RoleTrainee})
	d.do(bench.Confirm{When: by("L. Bye"), All: true, ReadBack: "701"})
	d.do(bench.Supervise{When: by("K. Voe"), Findings: []string{"burr", "gap"}})
	h := d.active()
	assert.Len(t, h.Closings, 1)
	assert.Equal(t, []string{"gap", "burr"}, h.Closings[0].Findings)
	assert.Empty(t, h.Confirmation)
	d.refused(bench.Confirm{When: by("L. Bye"), All: true}, bench.ClosingNotFlush)
	d.refused(bench.Supervise{When: by("K. Voe")}, bench.ClosingNotFlush)
	d.refused(bench.TellFate{Fate: bench.FateBanded}, bench.ClosingNotFlush)
	d.do(bench.Look{})
	d.do(bench.Confirm{When: by("A. Holm"), All: true, ReadBack: "701"})
	d.banded()
	requireRebuilds(t, d)
}

func TestNoLookBeforeAClosing(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	d.refused(bench.Supervise{}, bench.ClosingMissing)
	d.do(bench.Look{})
	d.refused(bench.Supervise{Findings: []string{"ugly"}}, bench.FindingUnknown)
}

func TestEachPersonHasOneRoleInAShift(t *testing.T) {
	d := taught(t, bench.Person{Name: "  L.  Bye ", Role: bench.RoleTrainee})
	assert.Equal(t, bench.People{{Name: "L. Bye", Role: bench.RoleTrainee}}, d.state.Shift.People)
	facts := len(d.facts)
	d.do(bench.TellShift{Detail: bench.Person{Name: "l. bye", Role: bench.RoleTrainee}})
	assert.Len(t, d.facts, facts, "told already")
	d.refused(bench.TellShift{Detail: bench.Person{Name: "L. Bye", Role: bench.RoleScribe}}, bench.RoleTaken)
	d.refused(bench.TellShift{Detail: bench.Person{Name: "K. Voe", Role: "cook"}}, bench.RoleUnknown)
	d.refused(bench.TellShift{Detail: bench.Person{Role: bench.RoleScribe}}, bench.NameMissing)
	d.refused(bench.TellShift{Detail: bench.Person{Name: "K.\x1b[2J", Role: bench.RoleScribe}}, bench.NotPrintable)
	d.do(bench.Confirm{When: by("A. Holm"), All: true})
	d.refused(bench.TellShift{Detail: bench.Person{Name: "a. holm", Role: bench.RoleTrainee}}, bench.RoleTaken)
	d.do(bench.Look{})
	d.refused(bench.TellShift{Detail: bench.Person{Name: "a. holm", Role: bench.RoleTrainee}}, bench.RoleTaken)
	d.do(bench.TellShift{Detail: bench.Person{Name: "A. Holm", Role: bench.RoleSupervisor}})
}

func TestTheSettingsPeopleComeWithEveryShift(t *testing.T) {
	d := newDesk(t)
	setup := *d.state.Setup
	setup.People = bench.People{{Name: "L. Bye", Role: bench.RoleTrainee}, {Name: "K. Voe", Role: bench.RoleSupervisor}}
	d.state.Setup = &setup
	shift := bench.Shift{ID: "shift-2", Place: "Skerry of Ness", Bander: "A. Holm", Permit: "P-1"}
	shift.People = bench.People{{Name: "k. voe", Role: bench.RoleScribe}}
	d.do(bench.OpenShift{Shift: shift})
	assert.Equal(t, bench.People{{Name: "k. voe", Role: bench.RoleScribe}, {Name: "L. Bye", Role: bench.RoleTrainee}}, d.state.Shift.People,
		"what is told of the shift goes before the settings")
	assert.Equal(t, 2, d.state.Shift.Told)
}

func TestAPlaceAWatchAndAnInstrument(t *testing.T) {
	d := newDesk(t)
	for _, bad := range []bench.Point{
		{},
		{Latitude: "91", Longitude: "3"},
		{Latitude: "56.1", Longitude: "-180.5"},
		{Latitude: "1e1", Longitude: "3"},
		{Latitude: "56.1", Longitude: "3 W"},
		{Latitude: "56.1", Longitude: "3", AccuracyM: "-5"},
		{Latitude: "NaN", Longitude: "3"},
	} {
		d.refused(bench.TellShift{Detail: bad}, bench.PointUnclear)
	}
	d.do(bench.TellShift{Detail: bench.Point{Latitude: " 56,184 ", Longitude: "-3.5", AccuracyM: "5"}})
	assert.Equal(t, bench.Point{Latitude: "56.184", Longitude: "-3.5", AccuracyM: "5", Datum: "WGS 84"}, *d.state.Shift.Point)
	d.refused(bench.TellShift{Detail: bench.WatchCheck{}}, bench.WatchUnclear)
	watch := bench.WatchCheck{Watch: d.now.Add(90 * time.Second), Clock: d.now}
	d.do(bench.TellShift{Detail: watch})
	assert.Equal(t, 90*time.Second, d.state.Shift.Watch.Behind())
	d.refused(bench.TellShift{Detail: bench.Instrument{Name: "blue"}}, bench.NameMissing)
	d.do(bench.TellShift{Detail: bench.Instrument{What: "balance", Name: "blue"}})
	d.refused(bench.TellShift{}, bench.NameMissing)
	empty := bench.State{Setup: d.state.Setup}
	_, _, blockers := bench.Apply(empty, bench.TellShift{Detail: watch})
	require.Len(t, blockers, 1)
	assert.Equal(t, bench.NoShift, blockers[0].Code)
}
