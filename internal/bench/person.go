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

// Role returns the role of a name, whatever the case of its letters; "" of one
// that was not told.
func (p People) Role(name string) Role {
	for _, person := range p {
		if strings.EqualFold(person.Name, name) {
			return person.Role
		}
	}
	return ""
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
