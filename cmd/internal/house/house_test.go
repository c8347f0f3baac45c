package house

import (
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// allowed maps a room to the packages of the project that it may import.
var allowed = map[string][]string{
	"pawl/wear":                       {},
	"pawl/ingest":                     {"pawl/wear"},
	"pawl/ingest/rig":                 {"pawl/wear"},
	"pawl/store":                      {"pawl/wear"},
	"pawl/store/storetest":            {"pawl/store", "pawl/wear"},
	"pawl/report":                     {"pawl/wear"},
	"pawl/cmd/internal/house":         {},
	"pawl/cmd/internal/config":        {"pawl/wear"},
	"pawl/cmd/internal/desk":          {"pawl/wear", "pawl/ingest", "pawl/ingest/rig", "pawl/store", "pawl/cmd/internal/config"},
	"pawl/cmd/internal/desk/fleetrig": {"pawl/wear", "pawl/store"},
	"pawl/cmd/pawl":                   {"pawl/wear", "pawl/report", "pawl/cmd/internal/desk", "pawl/cmd/internal/config"},
}

// wearMayImport is what wear may import beside the standard library.
var wearMayImport = []string{"github.com/pelletier/go-toml/v2"}

// top is what may lie at the top of the repository beside dot files.
var top = []string{
	"cmd", "ingest", "wear", "store", "report", "testdata",
	"go.mod", "go.sum", "README.md", "DEVELOPERS.md", "LICENSE", "CHANGELOG.md",
}

type pkg struct {
	ImportPath string
	Imports    []string
}

func packages(t *testing.T) []pkg {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports", "pawl/...")
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	require.NoError(t, err)
	var all []pkg
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p pkg
		err := dec.Decode(&p)
		if errors.Is(err, io.EOF) {
			return all
		}
		require.NoError(t, err)
		all = append(all, p)
	}
}

func TestRoomsImportOnlyWhatTheyMay(t *testing.T) {
	for _, p := range packages(t) {
		rooms, known := allowed[p.ImportPath]
		assert.True(t, known, "package %s is in no room of the house", p.ImportPath)
		for _, imp := range p.Imports {
			if strings.HasPrefix(imp, "pawl/") {
				assert.Contains(t, rooms, imp, "%s must not import %s", p.ImportPath, imp)
			} else if p.ImportPath == "pawl/wear" && strings.Contains(imp, ".") {
				assert.Contains(t, wearMayImport, imp, "wear must not import %s", imp)
			}
		}
	}
}

// clock finds the ways in which a room could ask the time or draw a lot.
var clock = regexp.MustCompile(`time\.(Now|Since|Until|After|Tick)\(|math/rand|os\.(Open|Create|ReadFile|WriteFile|Getenv)`)

func TestWearKnowsNoClockAndNoDisk(t *testing.T) {
	files, err := filepath.Glob("../../../wear/*.go")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		src, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.Empty(t, clock.FindString(string(src)), name)
	}
}

func TestTopLevel(t *testing.T) {
	entries, err := os.ReadDir("../../..")
	require.NoError(t, err)
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") {
			assert.Contains(t, top, e.Name())
		}
	}
}
