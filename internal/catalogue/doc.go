// Package catalogue holds what is known beforehand about bands and birds:
// tables of band sizes, closure kinds with the defects and statements they
// declare, procedures of closing, metals, and species with their recommended
// sizes. All of it is data: TOML embedded in the program, and the user's own
// file in the same shape, whose rows are added or take the place of rows with
// the same name.
//
// Every row says where it comes from (a source and a Mark), so that a value
// remembered or customary is never shown as an office's.
//
// It is not a judge: it neither chooses sizes nor decides whether a closing
// is good. It opens no files; callers hand it bytes.
//
// A Book is never changed after it is made: With returns another one. Books
// may be shared freely between goroutines as long as callers treat the slices
// in them as read-only.
package catalogue
