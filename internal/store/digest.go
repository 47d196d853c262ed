package store

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"

	"seamfit/internal/bench"
)

// digest returns the digest of a fact: SHA-256 over its predecessor's digest
// (empty for the first of a handling) and every column of its two rows, each
// with its type, in the order of the tables. Changing, adding or taking out a
// row behind the triggers' back breaks the chain from there on.
func digest(previous string, h bench.Head, r row) string {
	sum := sha256.New()
	put(sum, previous, h.Handling, int64(h.Seq), r.kind, utc(h.At), offset(h.At), utc(h.Entered), offset(h.Entered),
		h.By, h.Typed, int64(h.Replaces), h.Why)
	put(sum, r.values...)
	return hex.EncodeToString(sum.Sum(nil))
}

// put writes values so that no two different lists give the same bytes.
func put(sum hash.Hash, values ...any) {
	for _, v := range values {
		switch v := v.(type) {
		case nil:
			fmt.Fprint(sum, "nil\n")
		case int64:
			fmt.Fprintf(sum, "int %d\n", v)
		case float64:
			fmt.Fprintf(sum, "real %x\n", v)
		case []byte:
			fmt.Fprintf(sum, "blob %x\n", v)
		default:
			fmt.Fprintf(sum, "text %q\n", fmt.Sprint(v))
		}
	}
}
