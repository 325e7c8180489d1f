package pipeline

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/validate"
)

// A report that is an example of how to do it draws no error, no warning and no caution.
func TestValidReportsAreClean(t *testing.T) {
	files, err := filepath.Glob("../../testdata/valid/*.json")
	if err != nil || len(files) < 3 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, name := range files {
		o := Options{Read: normalise.Options{AsOf: edtf.Day{Year: 2026, Month: 4, Day: 20}}}
		if filepath.Base(name) == "minimal.findslip.json" {
			o.Level = validate.NoLevel
		}
		r, err := Check(context.Background(), name, o)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range r.Notices {
			if n.Kind.Caution || n.Kind.Severity != notice.Info {
				t.Errorf("%s: %s %s: %s", filepath.Base(name), n.Place(), n.Kind.Code, n.Message)
			}
		}
	}
}
