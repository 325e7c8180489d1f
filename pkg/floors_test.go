package pkg_test

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

const module = "github.com/findslip/findslip/"

// floors says on which floor each package lives. A package imports only from lower floors, so that
// rooms on one floor do not know each other.
var floors = map[string]int{
	"schema": 1, "pkg/notice": 1, "pkg/quantity": 1, "pkg/edtf": 1, "pkg/coordinate": 1, "pkg/bag": 1, "pkg/picture": 1, "pkg/internal/bookfile": 1,
	"pkg/vocabulary": 2, "pkg/find": 2, "pkg/render": 2,
	"pkg/heading": 3, "pkg/internal/markup": 3,
	"pkg/internal/intake": 4,
	"pkg/normalise":       5, "pkg/validate": 5, "pkg/share": 5, "pkg/spreadsheet": 5, "pkg/geojson": 5, "pkg/gpx": 5, "pkg/kml": 5,
	"pkg/pipeline": 6,
	"cmd/findslip": 7, "cmd/specgen": 7,
}

// alone are the packages that import nothing of the project and can be lifted out.
var alone = map[string]bool{"pkg/notice": true, "pkg/quantity": true, "pkg/edtf": true, "pkg/coordinate": true, "pkg/bag": true}

func TestFloors(t *testing.T) {
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "../pkg/...", "../cmd/...", "../schema").Output()
	if err != nil {
		t.Fatal(err)
	}
	dec := json.NewDecoder(strings.NewReader(string(out)))
	seen := 0
	for {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		name := strings.TrimPrefix(p.ImportPath, module)
		if name == "pkg" || strings.Contains(name, "spreadsheet/internal/") {
			continue // this test; the cellar of one package, which Go itself keeps shut
		}
		floor, ok := floors[name]
		if !ok {
			t.Errorf("package %s has no floor", name)
			continue
		}
		seen++
		for _, imported := range p.Imports {
			of, ours := strings.CutPrefix(imported, module)
			if !ours || strings.Contains(of, "spreadsheet/internal/") {
				continue
			}
			if alone[name] {
				t.Errorf("%s is to stand alone and imports %s", name, of)
			}
			if floors[of] >= floor {
				t.Errorf("%s on floor %d imports %s on floor %d", name, floor, of, floors[of])
			}
		}
	}
	if seen < 18 {
		t.Errorf("only %d packages were looked at", seen)
	}
}
