package device

// SteadyChannels captures the steady values of a stream in which several
// gauges speak, each on its channel, by a Steady for each. It is not safe for
// several goroutines.
type SteadyChannels struct {
	cfg SteadyConfig
	by  map[string]*Steady
}

// NewSteadyChannels fails as SteadyConfig.Check does.
func NewSteadyChannels(cfg SteadyConfig) (*SteadyChannels, error) {
	if err := cfg.Check(); err != nil {
		return nil, err
	}
	return &SteadyChannels{cfg: cfg, by: map[string]*Steady{}}, nil
}

// See takes the next sample of r's channel and reports whether it captures a
// steady value.
func (s *SteadyChannels) See(r Reading) bool {
	return s.of(r.Channel).See(r)
}

// Take counts r as captured, however it came to be a reading: the same jaws on
// the same leg are not captured once more.
func (s *SteadyChannels) Take(r Reading) { s.of(r.Channel).take(r) }

func (s *SteadyChannels) of(channel string) *Steady {
	steady, ok := s.by[channel]
	if !ok {
		steady = &Steady{cfg: s.cfg, phase: SteadyMoving} // the settings have been checked
		s.by[channel] = steady
	}
	return steady
}

// Lose forgets the samples so far of all channels.
func (s *SteadyChannels) Lose() {
	for _, steady := range s.by {
		steady.Lose()
	}
}

// Rearm makes the next steady value of each channel count.
func (s *SteadyChannels) Rearm() {
	for _, steady := range s.by {
		steady.Rearm()
	}
}
