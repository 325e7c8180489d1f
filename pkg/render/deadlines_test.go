package render

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/notice"
)

func withDeadlines() Document {
	d := sample()
	due := func(find, day string, status notice.DeadlineStatus, left int) notice.Deadline {
		return notice.Deadline{Day: day, Time: "14 days", What: "report of what may be treasure", Source: "an act s. 8",
			Checked: "2026-11-25", Status: status,
			Left: left, Dated: true, Location: notice.Location{File: "finds.xlsx", Sheet: "Finds", Row: 3,
				Pointer: "/finds/" + find, Find: find}}
	}
	d.Deadlines = notice.Deadlines{
		{Time: "immediately", What: "report of the find", Source: "a museum act", Checked: "2026-11-25",
			Status: notice.DeadlineOpen, Location: notice.Location{Find: "12"}},
		due("8", "2026-04-25", notice.DeadlineOpen, 13), due("9", "2026-04-25", notice.DeadlineOpen, 13),
		due("3", "2026-04-11", notice.DeadlinePast, -1),
		{Day: "2026-04-12", Time: "as stated", What: "notice that the record names", Source: "the record itself",
			Status: notice.DeadlineOpen, Dated: true, Location: notice.Location{Find: "4"}},
		due("5", "2026-04-30", notice.DeadlineMet, 18),
	}
	return d
}

func TestDeadlinesInText(t *testing.T) {
	var b bytes.Buffer
	if err := Text(&b, withDeadlines(), TextOptions{}); err != nil {
		t.Fatal(err)
	}
	want := `Time limits to report, by day:
  2026-04-11: report of what may be treasure, find 3; past by 1 day, no report is recorded
      an act s. 8, as checked on 2026-11-25
  2026-04-12: notice that the record names, find 4; ends today, no report is recorded
      the record itself
  2026-04-25: report of what may be treasure, finds 8, 9; 13 days left, no report is recorded
      an act s. 8, as checked on 2026-11-25
  2026-04-30: report of what may be treasure, find 5; a report is recorded
  immediately: report of the find, find 12; no report is recorded
      a museum act, as checked on 2026-11-25
  Counted from what the log says and the table named. A time limit may begin earlier or later; the
  local authority decides.
`
	_, got, _ := strings.Cut(b.String(), "Time limits")
	got, _, _ = strings.Cut("Time limits"+got, "\n\n")
	if d := cmp.Diff(want, got+"\n"); d != "" {
		t.Error(d)
	}
}

// Every form lists the deadlines in the order of their days, and none calls anything legal.
func TestDeadlinesInEveryForm(t *testing.T) {
	for name, write := range forms {
		var b bytes.Buffer
		if err := write(&b, withDeadlines()); err != nil {
			t.Fatal(err)
		}
		text, at := b.String(), -1
		for _, want := range []string{"2026-04-11", "2026-04-12", "2026-04-25", "2026-04-30", "immediately"} {
			next := strings.LastIndex(text, want)
			if name == "csv" {
				next = strings.Index(text, want+": ")
			}
			if want == "2026-04-12" && name != "csv" {
				continue // also the day that counts as today
			}
			if next <= at {
				t.Errorf("%s: %s stands at %d, after %d", name, want, next, at)
			}
			at = next
		}
		for _, want := range []string{"an act s. 8", "the record itself", "2026-11-25"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s lacks %q", name, want)
			}
		}
		if strings.Contains(strings.ToLower(text), "legal") {
			t.Errorf("%s says legal", name)
		}
	}
}

// Text tells a number of time limits and says how many are left.
func TestManyDeadlinesAreCut(t *testing.T) {
	d := sample()
	for i := range mostJobs + 3 {
		d.Deadlines = append(d.Deadlines, notice.Deadline{Day: "2026-05-" + string(rune('0'+i/10)) + string(rune('0'+i%10)),
			What: "report", Source: "an act", Status: notice.DeadlineOpen})
	}
	var b bytes.Buffer
	if err := Text(&b, d, TextOptions{}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "and 3 more things") {
		t.Errorf("the text does not say what it leaves out:\n%s", b.String())
	}
}
