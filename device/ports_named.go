package device

// namedPorts makes ports of bare names.
func namedPorts(list func() ([]string, error)) ([]PortInfo, error) {
	names, err := list()
	if err != nil {
		return nil, err
	}
	ports := make([]PortInfo, 0, len(names))
	for _, name := range names {
		ports = append(ports, PortInfo{Name: name, Address: wirelessAddress(name)})
	}
	return ports, nil
}
