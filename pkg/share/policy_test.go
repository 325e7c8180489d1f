package share

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/schema"
)

func policySchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	text, _ := schema.Text("policy")
	s, err := jsonschema.CompileString(schema.ID("policy"), string(text))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const oneRow = `{"findslipPolicy": "1", "members": [ROW]}`

func TestPolicyIsStricter(t *testing.T) {
	published := policySchema(t)
	source := randomReport(rand.New(rand.NewPCG(41, 42)))
	for _, f := range source.Finds {
		f.Sensitivity, f.Notes = "open", "still bright"
	}
	for row, check := range map[string]func(*find.Find) bool{
		`{"member": "notes", "recorder": "withhold"}`: func(f *find.Find) bool {
			return f.Notes == "" &&
				f.Absent["/notes"] == "withheld"
		},
		`{"member": "position", "recorder": "cell"}`:   func(f *find.Find) bool { return f.Generalised["/position"] == "grid-0.01" && f.Position.Verbatim == "" },
		`{"member": "position", "recorder": "cell-1"}`: func(f *find.Find) bool { return f.Generalised["/position"] == "grid-1" },
		`{"member": "position", "recorder": "withhold"}, {"member": "place", "recorder": "district"}`: func(f *find.Find) bool {
			return f.Position == nil && f.Absent["/position"] == "withheld" && f.Place.Name == "" && f.Place.Region == "Midshire"
		},
		`{"member": "found", "recorder": "year"}`: func(f *find.Find) bool {
			return f.Found.Date == "2026" &&
				f.Generalised["/found/date"] == "year"
		},
		`{"member": "depth", "recorder": "band"}`: func(f *find.Find) bool {
			return f.Depth == nil &&
				f.Layer.Code == "within-plough-depth"
		},
		`{"member": "materials", "recorder": "codes"}`: func(f *find.Find) bool {
			return f.Materials[0].Verbatim == "" &&
				f.Materials[0].Code == "lead"
		},
	} {
		text := strings.Replace(oneRow, "ROW", row, 1)
		var v any
		if err := json.Unmarshal([]byte(text), &v); err != nil {
			t.Fatal(err)
		}
		if err := published.Validate(v); err != nil {
			t.Errorf("%s: %v", row, err)
		}
		p, err := ReadPolicy(strings.NewReader(text), limit.Limits{})
		if err != nil {
			t.Errorf("%s: %v", row, err)
			continue
		}
		c, err := Copy(t.Context(), source, Options{Audience: Recorder, Policy: p})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range c.Report.Finds {
			if !check(f) {
				t.Errorf("%s: the recorder sees %+v", row, f)
			}
		}
	}
}

func TestPolicyIsNeverLooser(t *testing.T) {
	published := policySchema(t)
	for row, want := range map[string]string{
		`{"member": "position", "public": "keep"}`:                                                 "stricter",
		`{"member": "found", "public": "codes"}`:                                                   "cannot be made",
		`{"member": "notes", "public": "keep"}`:                                                    "stricter",
		`{"member": "number", "public": "keep"}`:                                                   "stricter",
		`{"member": "safety", "recorder": "withhold"}`:                                             "cannot be made",
		`{"member": "source", "public": "keep"}`:                                                   "cannot be made",
		`{"member": "notes", "recorder": "month"}`:                                                 `cannot be made "month"`,
		`{"member": "notes", "recorder": "vanish"}`:                                                `cannot be "vanish"`,
		`{"member": "colour", "recorder": "withhold"}`:                                             "no member of a find",
		`{"member": "notes"}`:                                                                      "names no audience",
		`{"member": "notes", "everybody": "withhold"}`:                                             "is not one of",
		`{"member": "notes", "self": "withhold"}`:                                                  "sees everything",
		`{"member": "number", "recorder": "withhold"}, {"member": "name", "recorder": "withhold"}`: "both number and name",
		`{"member": "notes", "recorder": "withhold"}, {"member": "notes", "expert": "withhold"}`:   "two rows",
		`{"member": "notes", "recorder": 1}`:                                                       "cannot be read",
	} {
		text := strings.Replace(oneRow, "ROW", row, 1)
		if _, err := ReadPolicy(strings.NewReader(text), limit.Limits{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", row, err, want)
		}
	}
	for _, text := range []string{``, `[]`, `{"findslipPolicy": "2", "members": []}`,
		`{"findslipPolicy": "1", "members": [], "audiences": {}}`, `{"members": []}`} {
		if _, err := ReadPolicy(strings.NewReader(text), limit.Limits{}); err == nil {
			t.Errorf("%q is read", text)
		}
		var v any
		if json.Unmarshal([]byte(text), &v) == nil && published.Validate(v) == nil {
			t.Errorf("the schema accepts %q", text)
		}
	}
}

// A policy that hides places hides them in the permissions too, and the leak check then knows them
// for secrets.
func TestPolicyHidesTheLand(t *testing.T) {
	p, err := ReadPolicy(strings.NewReader(strings.Replace(oneRow, "ROW",
		`{"member": "place", "recorder": "district"}, {"member": "position", "recorder": "cell"}, {"member": "otherPositions", "recorder": "withhold"}, {"member": "found", "recorder": "month"}, {"member": "notes", "recorder": "withhold"}, {"member": "materials", "recorder": "codes"}, {"member": "depth", "recorder": "codes"}`, 1)), limit.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	source := randomReport(rand.New(rand.NewPCG(43, 44)))
	source.Title = "log"
	c, err := Copy(t.Context(), source, Options{Audience: Recorder, Policy: p})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range c.Report.Permissions {
		if x.Place != nil || x.Absent["/place"] != "withheld" {
			t.Errorf("the permission shows %+v", x)
		}
	}
	for format, data := range encodings(t, c.Report) {
		if strings.Contains(string(data), "Long Furlong") || strings.Contains(string(data),
			source.Finds[0].Position.Latitude.String()) {
			t.Errorf("%s shows the place", format)
		}
		if leaks := leaksOf(t, data, source, c, Recorder); len(leaks) > 0 {
			t.Errorf("%s: %v", format, leaks)
		}
	}
	f := source.Finds[0]
	for text, kind := range map[string]string{"at Long Furlong": "place",
		"at " + f.Position.Latitude.String(): "position"} {
		if leaks := leaksOf(t, []byte(text), source, c, Recorder); len(leaks) == 0 || leaks[0].Kind != kind {
			t.Errorf("%q: %v", text, leaks)
		}
	}
}
