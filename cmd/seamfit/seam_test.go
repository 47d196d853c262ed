package main

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"seamfit/internal/seam"
	"seamfit/internal/settings"
)

// A bench without settings is judged by what the package documents.
func TestDefaultSettingsAreTheDocumentedLimits(t *testing.T) {
	s := settings.Default()
	assert.Equal(t, seam.DefaultLimits(), seamLimits(s.Seam))
	p := s.Practice
	got := seam.Scheme{
		Unskilled: p.UnskilledRate, Skilled: p.SkilledRate, Risk: p.Risk, Within: p.Within, LapseDays: p.LapseDays,
	}
	assert.Equal(t, seam.DefaultScheme(), got)
}
