package device

import (
	"io/fs"
	"os"
	"path"
	"strings"
)

// wirelessAddress returns the address of the device behind a Bluetooth serial
// port, which keeps it when the port comes back as rfcomm1 instead of
// rfcomm0.
func wirelessAddress(port string) string {
	return addressIn(os.DirFS("/sys/class/tty"), port)
}

// addressIn reads the address out of the system's folder of terminals.
func addressIn(terminals fs.FS, port string) string {
	name := path.Base(port)
	if !strings.HasPrefix(name, "rfcomm") {
		return ""
	}
	text, err := fs.ReadFile(terminals, name+"/address")
	if err != nil {
		return "" // not every kernel tells it
	}
	return strings.TrimSpace(string(text))
}
