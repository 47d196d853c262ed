package bench

import "strings"

// Role is what a person does in a shift.
type Role string

// The roles. A trainee's confirmation of a closing waits for a supervisor's
// look.
const (
	RoleBander       Role = "bander"
	RoleScribe       Role = "scribe"
	RoleTrainee      Role = "trainee"
	RoleSupervisor   Role = "supervisor"
	RolePermitHolder Role = "permit holder"
)

// Roles lists the roles.
func Roles() []Role {
	return []Role{RoleBander, RoleScribe, RoleTrainee, RoleSupervisor, RolePermitHolder}
}

// Person is somebody in a shift, in the one role that they have there.
type Person struct {
	Name string `json:"name"`
	Role Role   `json:"role"`
}

// People are the persons of a shift that were told.
type People []Person

// Role returns the role of a name, however its letters' case and its spaces are
// written; "" of one that was not told.
func (p People) Role(name string) Role {
	person, _ := p.told(name)
	return person.Role
}

// Spelled returns the name as the shift was told it, since the records know
// people by that; a name that was not told stays as it is.
func (p People) Spelled(name string) string {
	if person, told := p.told(name); told {
		return person.Name
	}
	return name
}

func (p People) told(name string) (Person, bool) {
	name = strings.Join(strings.Fields(name), " ")
	for _, person := range p {
		if strings.EqualFold(person.Name, name) {
			return person, true
		}
	}
	return Person{}, false
}

// Named returns the names of those in a role, in the order in which they were
// told.
func (p People) Named(role Role) []string {
	var names []string
	for _, person := range p {
		if person.Role == role {
			names = append(names, person.Name)
		}
	}
	return names
}
