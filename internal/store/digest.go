package store

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strconv"

	"seamfit/internal/bench"
)

// digest returns the digest of a fact: SHA-256 over its predecessor's digest
// (empty for the first of a handling) and every column of its two rows, each
// with its type, in the order of the tables. Changing, adding or taking out a
// row behind the triggers' back breaks the chain from there on.
func digest(previous string, h bench.Head, r row) string {
	return digestOf(append([]any{
		previous, h.Handling, int64(h.Seq), r.kind, utc(h.At), offset(h.At), utc(h.Entered), offset(h.Entered),
		h.By, h.Typed, int64(h.Replaces), h.Why,
	}, r.values...))
}

// digestOf writes the values so that no two different lists give the same
// bytes, and returns their SHA-256.
func digestOf(values []any) string {
	text := make([]byte, 0, 1024) // as much as most rows have
	for _, v := range values {
		switch v := v.(type) {
		case nil:
			text = append(text, "nil"...)
		case int64:
			text = strconv.AppendInt(append(text, "int "...), v, 10)
		case float64:
			text = fmt.Appendf(text, "real %x", v)
		case []byte:
			text = hex.AppendEncode(append(text, "blob "...), v)
		default:
			text = strconv.AppendQuote(append(text, "text "...), fmt.Sprint(v))
		}
		text = append(text, '\n')
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}
