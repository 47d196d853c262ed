package device

import (
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode"

	"seamfit/internal/length"
)

// Defaults of SerialConfig.
const (
	// DefaultSettle: boards that reboot when their port is opened send
	// garbage at first.
	DefaultSettle      = 300 * time.Millisecond
	DefaultOpenLimit   = 5 * time.Second
	DefaultReadTimeout = 100 * time.Millisecond
)

// NoSettle as SerialConfig.Settle drops nothing after opening.
const NoSettle = time.Duration(-1)

// SerialConfig are the settings of a device on a serial port.
type SerialConfig struct {
	Port    string // as the system names it
	Baud    int
	Framing string // as ParseFraming reads it
	Form    Form

	Unit       length.Unit   // for frames that name none
	Resolution length.Length // 0: the last digit's step
	Device     string        // the name in readings; empty: the port's

	// Quiet is how long Next waits before it returns ErrSilent; 0: for ever.
	Quiet time.Duration
	// Settle is how long after opening bytes are dropped; 0: DefaultSettle.
	Settle time.Duration
	// OpenLimit bounds the opening; 0: DefaultOpenLimit.
	OpenLimit time.Duration
	// ReadTimeout bounds one read, and with it Close; 0: DefaultReadTimeout.
	ReadTimeout time.Duration
	// DecimalComma is the typed form's setting.
	DecimalComma bool
	// Clock tells arrival times; nil is time.Now.
	Clock func() time.Time
	// Tap, if set, sees all bytes as they come and go, on a goroutine of the
	// source: a recorder. It must not keep p.
	Tap func(at time.Time, p []byte, sent bool)

	framing Framing // parsed from Framing
}

// complete checks cfg and fills in the defaults.
func (cfg SerialConfig) complete() (SerialConfig, error) {
	if cfg.Port == "" {
		return cfg, errors.New("no port is set; list the ports and choose one")
	}
	if cfg.Baud <= 0 || cfg.Baud > 4_000_000 {
		return cfg, fmt.Errorf("a speed of %d baud makes no sense; set what the caliper's papers give, often 4800 or 9600", cfg.Baud)
	}
	if cfg.Quiet < 0 {
		return cfg, fmt.Errorf("a quiet time of %v is negative; set 0 to switch it off", cfg.Quiet)
	}
	if strings.ContainsFunc(cfg.Device, unicode.IsControl) {
		return cfg, fmt.Errorf("the device's name %q has control characters; give it a plain name", cfg.Device)
	}
	framing, err := ParseFraming(cfg.Framing)
	if err != nil {
		return cfg, err
	}
	cfg.framing = framing
	if cfg.Device == "" {
		cfg.Device = Escape([]byte(cfg.Port))
	}
	if cfg.Settle == 0 {
		cfg.Settle = DefaultSettle
	}
	if cfg.OpenLimit <= 0 {
		cfg.OpenLimit = DefaultOpenLimit
	}
	if cfg.ReadTimeout <= 0 {
		cfg.ReadTimeout = DefaultReadTimeout
	}
	if cfg.Clock == nil {
		cfg.Clock = time.Now
	}
	return cfg, nil
}

func (cfg SerialConfig) decoder() (*Decoder, error) {
	return NewDecoder(cfg.Form, DecoderOptions{
		Unit: cfg.Unit, Resolution: cfg.Resolution, Device: cfg.Device, Clock: cfg.Clock, DecimalComma: cfg.DecimalComma,
	})
}
