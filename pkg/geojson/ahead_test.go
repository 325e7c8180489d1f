package geojson

import (
	"bytes"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// TestAheadWritesTheSame holds features that are made ahead to those that Encode makes, and its errors too.
func TestAheadWritesTheSame(t *testing.T) {
	for name, f := range map[string]*find.Find{
		"a find":          {ID: "urn:uuid:0d0cbb63-1c3c-4a6b-9d0a-2c4f2b1f7f10", Name: "button, \"plain\"", Columns: map[string]string{"Pin": "3"}},
		"with a position": {Number: "7", Position: &find.Position{Longitude: find.Float(-1.25), Latitude: find.Float(52.5), Method: &find.Term{Verbatim: "GPS"}}},
		"with a list":     {Number: "8", Materials: []find.Material{{Term: find.Term{Verbatim: "lead", Code: "lead"}}, {Term: find.Term{Code: "iron"}}}},
		"not UTF-8":       {Number: "9", Name: "but\xffton"},
		"empty":           {},
	} {
		t.Run(name, func(t *testing.T) {
			report := &find.Report{Findslip: find.Version, Finds: []*find.Find{f, f}}
			var now, ahead bytes.Buffer
			errNow := Encode(&now, find.StreamOf(report), Options{})
			errAhead := Encode(&ahead, Ahead(find.StreamOf(report)), Options{})
			if (errNow == nil) != (errAhead == nil) || errNow != nil && errNow.Error() != errAhead.Error() {
				t.Fatalf("%v, and ahead %v", errNow, errAhead)
			}
			if errNow == nil && now.String() != ahead.String() {
				t.Errorf("%s\nahead\n%s", now.String(), ahead.String())
			}
		})
	}
}
