package main_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const module = "seamfit/"

// Modules by the short names of the table below.
var modules = map[string]string{
	"toml": "github.com/pelletier/go-toml/v2", "uniseg": "github.com/rivo/uniseg", "gonum": "gonum.org/v1/gonum",
	"serial": "go.bug.st/serial", "sqlite": "modernc.org/sqlite", "uuid": "github.com/google/uuid",
	"svgo": "github.com/ajstarks/svgo", "gomponents": "maragu.dev/gomponents", "barcode": "github.com/boombuler/barcode",
	"tcell": "github.com/gdamore/tcell/v2", "cobra": "github.com/spf13/cobra", "sync": "golang.org/x/sync",
	// For tests only; devicetest is a suite for tests.
	"testify": "github.com/stretchr/testify", "rapid": "pgregory.net/rapid",
}

// The packages that "bench and below" stands for.
const benchAndBelow = "internal/bench internal/bands internal/fit internal/seam internal/catalogue internal/metrology internal/length"

// What each package may import beside the standard library. A package that is
// not here does not belong to the design.
var mayImport = map[string]string{
	"internal/length":    "",
	"internal/grid":      "uniseg",
	"internal/metrology": "internal/length gonum",
	"internal/catalogue": "internal/length toml",
	"internal/bands":     "internal/length toml",
	"internal/settings":  "internal/length internal/catalogue toml",
	"internal/fit":       "internal/length internal/metrology internal/catalogue",
	"internal/seam":      "internal/length internal/metrology internal/catalogue",
	"internal/bench":     "internal/length internal/metrology internal/bands internal/fit internal/seam internal/catalogue",
	"internal/drill":     benchAndBelow + " device",
	"internal/replay":    benchAndBelow + " device",
	"device":             "internal/length serial",
	"device/sim":         "internal/length serial device",
	"device/capture":     "internal/length serial device",
	"device/devicetest":  "internal/length serial device testify rapid",
	"internal/store":     benchAndBelow + " sqlite uuid",
	"internal/export":    benchAndBelow + " sync",
	"internal/report":    benchAndBelow + " svgo barcode gomponents",
	"station":            benchAndBelow + " device internal/grid",
}

// mayNotImport bars from cmd/seamfit, which may import everything else, what
// is for tests only; tcell is for the station's terminal.
var mayNotImport = []string{"device/devicetest", "testify", "rapid", "tcell"}

// pure are the packages that never touch files, clocks, randomness or logs.
var pure = strings.Fields(benchAndBelow + " internal/grid internal/settings internal/drill station")

// impureFiles are the files of a pure package that run its effects.
var impureFiles = regexp.MustCompile(`^station/(loop|run|terminal)[a-z_]*\.go$`)

var impureImports = regexp.MustCompile(`^(os|os/.*|log|log/.*|math/rand|math/rand/v2|crypto/rand|net|net/.*|io/fs|io/ioutil|path/filepath|syscall|database/sql|time/tzdata)$`)

var clockCalls = []string{"Now", "Since", "Until", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker", "Sleep"}

var (
	topLevel      = regexp.MustCompile(`^(cmd|device|station|internal|testdata|go\.mod|go\.sum|README\.md|DEVELOPERS\.md|LICENSE|\..+)$`)
	buildOutput   = regexp.MustCompile(`^(seamfit|dist|.*\.db(-wal|-shm)?)$`) // as in .gitignore
	nameless      = regexp.MustCompile(`(util|utils|helpers?|common|misc|types)\.go$`)
	terminalFiles = regexp.MustCompile(`^station/terminal[a-z_]*\.go$`)
)

const mostLines = 400

// breaches lists what in a tree goes against the design's layout and import
// table, one line for each breach.
func breaches(tree fs.FS) ([]string, error) {
	top, err := fs.ReadDir(tree, ".")
	if err != nil {
		return nil, err
	}
	var found []string
	for _, entry := range top {
		if name := entry.Name(); !topLevel.MatchString(name) && !buildOutput.MatchString(name) {
			found = append(found, "top level holds "+name)
		}
	}
	err = fs.WalkDir(tree, ".", func(name string, entry fs.DirEntry, err error) error {
		switch base := path.Base(name); {
		case err != nil:
			return err
		case entry.IsDir() && name != "." && (base == "testdata" || strings.HasPrefix(base, ".")):
			return fs.SkipDir
		case entry.IsDir() || !strings.HasSuffix(name, ".go"):
			return nil
		}
		source, err := fs.ReadFile(tree, name)
		if err != nil {
			return err
		}
		more, err := breachesOf(name, source)
		found = append(found, more...)
		return err
	})
	return found, err
}

func breachesOf(name string, source []byte) ([]string, error) {
	var found []string
	breach := func(format string, args ...any) { found = append(found, name+" "+fmt.Sprintf(format, args...)) }
	if nameless.MatchString(path.Base(name)) {
		breach("is named for nothing in the domain")
	}
	if strings.HasSuffix(name, "_test.go") {
		return found, nil
	}
	if lines := strings.Count(string(source), "\n"); lines > mostLines {
		breach("has %d lines, over %d", lines, mostLines)
	}
	file, err := parser.ParseFile(token.NewFileSet(), name, source, parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	folder := path.Dir(name)
	if _, known := mayImport[folder]; !known && folder != "cmd/seamfit" {
		breach("is in a package that the design does not have")
		return found, nil
	}
	clockFree := slices.Contains(pure, folder) && !impureFiles.MatchString(name)
	for _, spec := range file.Imports {
		imported, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			return nil, err
		}
		if why := refused(name, folder, imported, clockFree); why != "" {
			breach("imports %s: %s", imported, why)
		}
	}
	for _, variable := range rewritten(file) {
		breach("changes the package variable %s", variable)
	}
	if clockFree {
		for _, call := range clocks(file) {
			breach("reads the clock: time.%s", call)
		}
	}
	return found, nil
}

// refused says why a file may not import a package; "" when it may.
func refused(name, folder, imported string, clockFree bool) string {
	short := imported
	for key, path := range modules {
		if imported == path || strings.HasPrefix(imported, path+"/") {
			short = key
		}
	}
	short = strings.TrimPrefix(short, module)
	switch {
	case short == "tcell":
		if terminalFiles.MatchString(name) {
			return ""
		}
		return "only station/terminal*.go may"
	case isStandard(imported):
		if clockFree && impureImports.MatchString(imported) {
			return "the package is pure"
		}
		return ""
	case folder == "cmd/seamfit":
		_, ours := mayImport[short]
		_, listed := modules[short]
		if slices.Contains(mayNotImport, short) || !ours && !listed && !strings.HasPrefix(imported, "golang.org/x/") {
			return "not for the shipped program"
		}
		return ""
	case !slices.Contains(strings.Fields(mayImport[folder]), short):
		return "not in the import table"
	default:
		return ""
	}
}

func isStandard(imported string) bool {
	first, _, _ := strings.Cut(imported, "/")
	return !strings.Contains(first, ".") && first != strings.TrimSuffix(module, "/")
}

// clocks lists the functions of package time that a file uses to read or wait
// for a clock.
func clocks(file *ast.File) []string {
	local := ""
	for _, spec := range file.Imports {
		if spec.Path.Value == `"time"` {
			local = "time"
			if spec.Name != nil {
				local = spec.Name.Name
			}
		}
	}
	var found []string
	ast.Inspect(file, func(n ast.Node) bool {
		if call, ok := n.(*ast.SelectorExpr); ok && local != "" {
			if id, ok := call.X.(*ast.Ident); ok && id.Name == local && slices.Contains(clockCalls, call.Sel.Name) {
				found = append(found, call.Sel.Name)
			}
		}
		return true
	})
	return found
}

// rewritten lists the package variables of a file that one of its functions
// writes to. It goes by names, so a function that has a variable of its own
// under the same name is passed over.
func rewritten(file *ast.File) []string {
	variables := map[string]bool{}
	for _, decl := range file.Decls {
		if group, ok := decl.(*ast.GenDecl); ok && group.Tok == token.VAR {
			for _, spec := range group.Specs {
				for _, name := range spec.(*ast.ValueSpec).Names {
					variables[name.Name] = true
				}
			}
		}
	}
	var found []string
	for _, decl := range file.Decls {
		f, ok := decl.(*ast.FuncDecl)
		if !ok {
			continue
		}
		local, written := writes(f)
		for _, name := range written {
			if variables[name] && !local[name] {
				found = append(found, name)
			}
		}
	}
	return found
}

// writes returns the names that a function declares and those it assigns to,
// to a part of or counts up.
func writes(f *ast.FuncDecl) (local map[string]bool, written []string) {
	local = map[string]bool{}
	write := func(target ast.Expr) {
		for {
			switch x := target.(type) {
			case *ast.IndexExpr:
				target = x.X
			case *ast.SelectorExpr:
				target = x.X
			case *ast.Ident:
				written = append(written, x.Name)
				return
			default:
				return
			}
		}
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.Field:
			for _, name := range x.Names {
				local[name.Name] = true
			}
		case *ast.ValueSpec:
			for _, name := range x.Names {
				local[name.Name] = true
			}
		case *ast.RangeStmt:
			for _, e := range []ast.Expr{x.Key, x.Value} {
				if id, ok := e.(*ast.Ident); ok && x.Tok == token.DEFINE {
					local[id.Name] = true
				}
			}
		case *ast.AssignStmt:
			for _, target := range x.Lhs {
				if id, ok := target.(*ast.Ident); ok && x.Tok == token.DEFINE {
					local[id.Name] = true
				} else {
					write(target)
				}
			}
		case *ast.IncDecStmt:
			write(x.X)
		}
		return true
	})
	return local, written
}

func TestLayoutAndImportsFollowTheDesign(t *testing.T) {
	found, err := breaches(os.DirFS("../.."))
	require.NoError(t, err)
	assert.Empty(t, found, strings.Join(found, "\n"))
}

// The check above can fail: each made-up breach is found, and nothing else.
func TestMadeUpBreachesAreFound(t *testing.T) {
	source := func(name string, imports ...string) string {
		text := "package " + name + "\n"
		for _, imported := range imports {
			text += "import _ \"" + imported + "\"\n"
		}
		return text
	}
	tree := fstest.MapFS{}
	put := func(name, text string) { tree[name] = &fstest.MapFile{Data: []byte(text)} }
	put("go.mod", "module seamfit")
	put(".ci/run", "")
	put("tools/x.sh", "")
	put("seamfit", "")
	put("internal/length/length.go", source("length", "fmt", "math"))
	put("internal/fit/fit.go", source("fit", "seamfit/internal/metrology", "seamfit/internal/store", "gonum.org/v1/gonum/stat/distuv"))
	put("internal/metrology/line.go", source("metrology", "gonum.org/v1/gonum/stat/distuv", "math/rand/v2"))
	put("internal/bench/apply.go", "package bench\nimport clock \"time\"\nvar t = clock.Now()\nvar d = clock.Second\n")
	put("internal/bench/apply_test.go", source("bench", "os", "seamfit/internal/store", "github.com/stretchr/testify/assert"))
	put("internal/bench/helpers.go", source("bench"))
	put("internal/grid/cells.go", source("grid", "github.com/stretchr/testify/assert"))
	put("internal/grid/testdata/odd.go", "no go")
	put("internal/extra/extra.go", source("extra"))
	put("station/view.go", source("station", "github.com/gdamore/tcell/v2", "os"))
	put("station/terminal.go", source("station", "github.com/gdamore/tcell/v2", "os"))
	put("station/loop.go", "package station\nimport \"time\"\nvar t = time.Now()\n")
	put("device/port.go", source("device", "go.bug.st/serial/enumerator", "time", "os"))
	put("device/count.go", "package device\nvar a, b, c, d, e = 1, []int{}, 3, 4, struct{ x int }{}\n"+
		"func f(d int) { a++; b[0] = 1; c := 2; c = 3; d = c; e.x = d; for c := range b { _ = c } }\n")
	put("device/long.go", "package device\n"+strings.Repeat("// line\n", mostLines))
	put("cmd/seamfit/main.go", source("main", "seamfit/internal/store", "github.com/spf13/cobra", "github.com/gdamore/tcell/v2", "seamfit/device/devicetest", "example.org/odd"))

	found, err := breaches(tree)
	require.NoError(t, err)
	assert.ElementsMatch(t, []string{
		"top level holds tools",
		"internal/fit/fit.go imports seamfit/internal/store: not in the import table",
		"internal/fit/fit.go imports gonum.org/v1/gonum/stat/distuv: not in the import table",
		"internal/metrology/line.go imports math/rand/v2: the package is pure",
		"internal/bench/apply.go reads the clock: time.Now",
		"internal/bench/helpers.go is named for nothing in the domain",
		"internal/grid/cells.go imports github.com/stretchr/testify/assert: not in the import table",
		"internal/extra/extra.go is in a package that the design does not have",
		"station/view.go imports github.com/gdamore/tcell/v2: only station/terminal*.go may",
		"station/view.go imports os: the package is pure",
		"device/count.go changes the package variable a",
		"device/count.go changes the package variable b",
		"device/count.go changes the package variable e",
		"device/long.go has 401 lines, over 400",
		"cmd/seamfit/main.go imports github.com/gdamore/tcell/v2: only station/terminal*.go may",
		"cmd/seamfit/main.go imports seamfit/device/devicetest: not for the shipped program",
		"cmd/seamfit/main.go imports example.org/odd: not for the shipped program",
	}, found)

	_, err = breaches(fstest.MapFS{"internal/length/broken.go": &fstest.MapFile{Data: []byte("package")}})
	require.Error(t, err)
}
