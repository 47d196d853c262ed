package device

// LineSetting is a speed and framing to listen with.
type LineSetting struct {
	Baud    int
	Framing string
}

// UsualSettings returns the speeds and framings at which calipers are usually
// found, the most usual first. [practice]
func UsualSettings() []LineSetting {
	return []LineSetting{
		{9600, "8N1"},
		{4800, "7E2"},
		{115200, "8N1"},
		{19200, "8N1"},
		{38400, "8N1"},
		{57600, "8N1"},
		{2400, "7E2"},
		{2400, "8N1"},
		{4800, "8N1"},
		{9600, "7E1"},
	}
}

// UsualSetting returns the speed and framing that the instruments' documents
// give for the form; every one of them can also be set to others.
func (f Form) UsualSetting() LineSetting {
	if f == Plain {
		return LineSetting{4800, "7E2"}
	}
	return LineSetting{9600, "8N1"}
}
