// Package report writes pages and plots for people: HTML pages that stand
// alone, and SVG.
//
// It is not an export: numbers are rounded for reading, and nothing is meant
// to be read back. It opens no files and looks at no clock.
//
// Its functions depend on nothing but their arguments, and may be called from
// any number of goroutines.
package report
