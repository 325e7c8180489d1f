package pipeline_test

import (
	"testing"

	"github.com/findslip/findslip/pkg/geojson"
	"github.com/findslip/findslip/pkg/gpx"
	"github.com/findslip/findslip/pkg/kml"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/schemacheck"
	"github.com/findslip/findslip/pkg/spreadsheet"
	"github.com/findslip/findslip/pkg/validate"
)

// A code that a reading and a rule both give weighs the same in both, and the words of the rule
// are those of the catalogue.
func TestOneCodeOneMeaning(t *testing.T) {
	byCode := map[string]*notice.Kind{}
	for _, k := range pipeline.Kinds() {
		byCode[k.Code] = k
	}
	rules := map[string]*notice.Kind{}
	for _, r := range validate.Catalogue() {
		rules[r.Code] = &r.Kind
	}
	shared := 0
	for _, list := range [][]*notice.Kind{normalise.Kinds(), spreadsheet.Kinds(), geojson.Kinds(), gpx.Kinds(),
		kml.Kinds(), schemacheck.Kinds()} {
		for _, k := range list {
			of := byCode[k.Code]
			if of == nil {
				t.Errorf("%s is not in the catalogue", k.Code)
				continue
			}
			if of.Severity != k.Severity || of.Caution != k.Caution || of.Spec != k.Spec {
				t.Errorf("%s is %s of section %s in one place and %s of %s in another", k.Code, of.Severity, of.Spec, k.Severity,
					k.Spec)
			}
			if r := rules[k.Code]; r != nil {
				if shared++; of != r {
					t.Errorf("%s: the words in the catalogue are not those of the rule", k.Code)
				}
			}
		}
	}
	if shared == 0 {
		t.Error("no code is shared by a reading and a rule, so nothing was compared")
	}
}
