package main

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

func TestProgressIsToldFiveTimesASecondAndWiped(t *testing.T) {
	var screen bytes.Buffer
	at := time.Date(2026, 5, 17, 6, 0, 0, 0, time.UTC)
	tell, done := progressOn(&screen, func() time.Time { return at })
	for rows := 1000; rows <= 10_000; rows += 1000 {
		tell("readings", rows, 10_000)
		at = at.Add(100 * time.Millisecond)
	}
	assert.Equal(t, 5, bytes.Count(screen.Bytes(), []byte("rows")))
	done()
	assert.Regexp(t, "\rreadings: 1000 of 10000 rows +\r", screen.String())
	assert.Regexp(t, "\r {48}\r$", screen.String())

	screen.Reset()
	_, done = progressOn(&screen, time.Now)
	done()
	assert.Empty(t, screen.String(), "nothing was told, and nothing is wiped")
}
