// Command seamfit is a bird-banding bench: it reads a caliper, says which band
// sizes fit, walks the bander through closing the band, and keeps the record.
//
// It exits with 0 when done, 1 when it failed, and 2 when it was called
// wrongly. Results go to standard output, errors to standard error as one
// line: seamfit: what went wrong; how to mend it.
package main

import (
	"os"
)

func main() {
	os.Exit(run(os.Args[1:], system()))
}
