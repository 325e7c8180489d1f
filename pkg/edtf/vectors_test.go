package edtf_test

import (
	"encoding/json"
	"errors"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/lexicon"
)

// vector is one entry of testdata/vectors/date-*.json: a text, the options, the
// expected reading, why it is expected and where that stands.
type vector struct {
	ID, Kind, Input      string
	Order, Serial, Today string
	Pivot                int
	Expect               outcome
	Why, Source          string
	Language             string
	Stated               bool // the language is stated, and not only that of the words
}

// outcome is a reading as the vectors write it. Earliest and Latest are
// astronomical years and stand for datings only.
type outcome struct {
	Date, Time, Period, Event string
	Earliest, Latest          *int
	Absent, Error             string
}

func (v vector) options(t *testing.T, stated bool) edtf.Options {
	t.Helper()
	o := edtf.Options{Pivot: v.Pivot}
	if stated {
		o.Language = lexicon.ByTag(v.Language)
	}
	var err error
	if o.Order, err = edtf.ParseOrder(v.Order); err != nil {
		t.Fatal(err)
	}
	if o.Serial, err = edtf.ParseEpoch(v.Serial); err != nil {
		t.Fatal(err)
	}
	if v.Today != "" {
		today, err := edtf.Parse(v.Today)
		if err != nil {
			t.Fatal(err)
		}
		o.Today, _, _, _ = today.Span()
	}
	return o
}

func readVectors(t *testing.T, name string) []vector {
	t.Helper()
	data, err := os.ReadFile("../../testdata/vectors/" + name)
	if err != nil {
		t.Fatal(err)
	}
	var vectors []vector
	if err := json.Unmarshal(data, &vectors); err != nil {
		t.Fatal(err)
	}
	seen := make(map[string]bool)
	for _, v := range vectors {
		if v.ID == "" || seen[v.ID] || v.Source == "" || v.Why == "" {
			t.Errorf("vector %q: an id of its own, a reason and a source are needed", v.ID)
		}
		seen[v.ID] = true
	}
	return vectors
}

func failure(err error) outcome {
	var e *edtf.Error
	if !errors.As(err, &e) {
		return outcome{Error: "not an *edtf.Error: " + err.Error()}
	}
	return outcome{Error: e.Code}
}

func TestFoundVectors(t *testing.T) {
	for _, v := range readVectors(t, "date-found.json") {
		t.Run(v.ID, func(t *testing.T) {
			found, err := edtf.NormaliseFound(v.Input, v.options(t, v.Stated))
			// A stated language changes nothing where the vector does not say so.
			if again, bad := edtf.NormaliseFound(v.Input, v.options(t, true)); again.Date != found.Date ||
				again.Absent != found.Absent {
				t.Errorf("%q in %q: %v, %v; %v without", v.Input, v.Language, again.Date, bad, found.Date)
			}
			got := outcome{Date: found.Date.String(), Time: found.Time, Absent: found.Absent}
			if err != nil {
				got = failure(err)
				checkError(t, v.Input, err)
			}
			if diff := cmp.Diff(v.Expect, got); diff != "" {
				t.Errorf("NormaliseFound(%q), %s (%s):\n%s", v.Input, v.Why, v.Source, diff)
			}
		})
	}
}

func TestDatingVectors(t *testing.T) {
	for _, v := range readVectors(t, "date-dating.json") {
		t.Run(v.ID, func(t *testing.T) {
			dating, err := edtf.NormaliseDating(v.Input, v.options(t, v.Stated))
			if again, bad := edtf.NormaliseDating(v.Input, v.options(t, true)); again.Date != dating.Date ||
				again.Absent != dating.Absent || again.Period != dating.Period {
				t.Errorf("%q in %q: %v %q, %v; %v without", v.Input, v.Language, again.Date, again.Period, bad, dating.Date)
			}
			got := outcome{Date: dating.Date.String(), Period: dating.Period, Event: dating.Event, Absent: dating.Absent}
			if err != nil {
				got = failure(err)
				checkError(t, v.Input, err)
			}
			earliest, latest, hasEarliest, hasLatest := dating.Date.Years()
			if hasEarliest {
				got.Earliest = &earliest
			}
			if hasLatest {
				got.Latest = &latest
			}
			if diff := cmp.Diff(v.Expect, got); diff != "" {
				t.Errorf("NormaliseDating(%q), %s (%s):\n%s", v.Input, v.Why, v.Source, diff)
			}
		})
	}
}
