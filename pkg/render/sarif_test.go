package render

import (
	"bytes"
	"encoding/json"
	"slices"
	"testing"

	"github.com/findslip/findslip/pkg/notice"
)

// What SARIF 2.1.0 (OASIS Standard, errata 01) asks of a log, by section.
func TestSARIFAsTheStandardHasIt(t *testing.T) {
	d := compared(t)
	d.Notices[0].File, d.Notices[0].Line = "spring finds/log 1.csv", 7
	d.Accepted = notice.List{{Kind: bad, Message: "30 February", Accepted: "the diary says so",
		Location: notice.Location{Find: "3", Pointer: "/finds/2"}}}
	var b bytes.Buffer
	if err := SARIF(&b, d); err != nil {
		t.Fatal(err)
	}
	var log struct {
		Version string
		Runs    []struct {
			Tool struct {
				Driver struct {
					Name  string
					Rules []struct{ ID string }
				}
			}
			Results []struct {
				RuleID        string
				RuleIndex     *int
				Level         string
				Message       struct{ Text string }
				BaselineState string
				Suppressions  []struct{ Kind, Justification string }
				Locations     []struct {
					PhysicalLocation struct {
						ArtifactLocation struct{ URI string }
						Region           *struct{ StartLine, StartColumn int }
					}
				}
			}
		}
	}
	if err := json.Unmarshal(b.Bytes(), &log); err != nil {
		t.Fatal(err)
	}
	if log.Version != "2.1.0" { // 3.13.2
		t.Errorf("version %q", log.Version)
	}
	if len(log.Runs) != 1 || log.Runs[0].Tool.Driver.Name == "" { // 3.13.4, 3.14.6, 3.19.8
		t.Fatalf("runs %+v", log.Runs)
	}
	run := log.Runs[0]
	if want := len(d.Notices) + 2; len(run.Results) != want {
		t.Errorf("%d results, want %d", len(run.Results), want)
	}
	uris := map[string]bool{}
	for _, r := range run.Results {
		if r.Message.Text == "" { // 3.27.11, 3.11.8
			t.Errorf("%s has no message", r.RuleID)
		}
		if !slices.Contains([]string{"error", "warning", "note", "none"}, r.Level) { // 3.27.10
			t.Errorf("level %q", r.Level)
		}
		if r.RuleIndex == nil || run.Tool.Driver.Rules[*r.RuleIndex].ID != r.RuleID { // 3.27.5, 3.27.6
			t.Errorf("the rule index of %s points elsewhere", r.RuleID)
		}
		accepted := len(r.Suppressions) > 0
		if !accepted && !slices.Contains([]string{"new", "unchanged", "updated", "absent"}, r.BaselineState) { // 3.27.24
			t.Errorf("baseline state %q", r.BaselineState)
		}
		for _, s := range r.Suppressions { // 3.35.2, 3.35.4
			if s.Kind != "external" || s.Justification != "the diary says so" {
				t.Errorf("suppression %+v", s)
			}
		}
		for _, l := range r.Locations {
			uris[l.PhysicalLocation.ArtifactLocation.URI] = true
			if g := l.PhysicalLocation.Region; g != nil && (g.StartLine < 1 || g.StartColumn < 0) { // 3.30.5, 3.30.6
				t.Errorf("region %+v", g)
			}
		}
	}
	if !uris["spring%20finds/log%201.csv"] { // 3.4.3: a URI reference as RFC 3986 has it
		t.Errorf("files %v", uris)
	}
}
