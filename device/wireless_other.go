//go:build !linux

package device

// wirelessAddress is not told by this system.
func wirelessAddress(string) string { return "" }
