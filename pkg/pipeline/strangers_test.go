package pipeline_test

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/pipeline"
)

var update = flag.Bool("update", false, "write the readings of strangers.txtar anew, to be read with care")

// TestStrangers reads logs as people keep them, and compares each find with the line that a careful reader would make
// of it; testdata/strangers.txtar says where they come from.
func TestStrangers(t *testing.T) {
	const name = "testdata/strangers.txtar"
	archive, err := txtar.ParseFile(name)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i+1 < len(archive.Files); i += 2 {
		log, want := archive.Files[i], &archive.Files[i+1]
		t.Run(log.Name, func(t *testing.T) {
			got := reading(t, log)
			if *update {
				want.Data = []byte(got)
			} else if got != string(want.Data) {
				t.Errorf("got\n%swant\n%s", got, want.Data)
			}
		})
	}
	if *update {
		if err := os.WriteFile(name, txtar.Format(archive), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// reading returns a line a find, and the codes of rows that are none.
func reading(t *testing.T, log txtar.File) string {
	path := filepath.Join(t.TempDir(), log.Name)
	if err := os.WriteFile(path, log.Data, 0o600); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	result, err := pipeline.Convert(context.Background(), path, &b, pipeline.Options{To: pipeline.Findslip})
	if err != nil {
		t.Fatal(err)
	}
	var r find.Report
	if err := json.Unmarshal(b.Bytes(), &r); err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	for _, f := range r.Finds {
		fmt.Fprintln(&out, lineOf(&r, f))
	}
	for _, n := range result.Notices {
		switch n.Kind.Code {
		case "row-not-a-find", "table-beside", "headings-missing", "year-taken", "cell-unreadable":
			fmt.Fprintf(&out, "row %d: %s\n", n.Row, n.Kind.Code)
		}
	}
	return out.String()
}

// lineOf says what was read of a find: number, name, day, depth in cm, weight in g, count, material, place, finder.
func lineOf(r *find.Report, f *find.Find) string {
	var parts []string
	say := func(format string, x ...any) { parts = append(parts, fmt.Sprintf(format, x...)) }
	span := func(of, unit string, q *find.Quantity) {
		if q != nil && (q.Min.Known() || q.Max.Known()) {
			say("%s %s-%s%s", of, q.Min.String(), q.Max.String(), unit)
		} else if q != nil {
			say("%s %q", of, q.Verbatim)
		}
	}
	say("%s %s", cmp.Or(f.Number, "-"), cmp.Or(f.Name, "-"))
	if f.Found != nil {
		say("%s", cmp.Or(f.Found.Date, fmt.Sprintf("%q", f.Found.Verbatim)))
	}
	if f.Depth != nil {
		span("depth", " cm", &f.Depth.Quantity)
	}
	span("weight", " g", f.Weight)
	span("count", "", f.Count)
	for _, m := range f.Materials {
		say("%s", cmp.Or(m.Code, m.Verbatim))
	}
	if p := f.Position; p != nil && p.Latitude.Known() {
		say("at %.4f %.4f", p.Latitude.Float(), p.Longitude.Float())
	} else if p != nil {
		say("at %q", p.Verbatim)
	}
	if p := r.Permission(f.Permission); p != nil && p.Place != nil {
		say("in %s", p.Place.Name)
	}
	if p := r.Person(f.Finder); p != nil {
		say("by %s", cmp.Or(p.Handle, p.Name))
	}
	return strings.Join(parts, "; ")
}
