package render

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

// compared is the sample with an earlier report in which one notice was otherwise, a row stood
// elsewhere, and one notice of two alike was not yet there.
func compared(t *testing.T) Document {
	t.Helper()
	old := sample()
	old.Notices[2].Message = "31 February"
	old.Notices[0].Pointer, old.Notices[0].Cell, old.Notices[0].Row = "/finds/88/depth", "D88", 88
	old.Notices = append(old.Notices[:1], old.Notices[2:]...)
	var b bytes.Buffer
	if err := JSON(&b, old); err != nil {
		t.Fatal(err)
	}
	before, err := ReadBaseline(&b, "old.json", limit.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	d := sample()
	d.Baseline = before
	return d
}

func TestBaseline(t *testing.T) {
	d := compared(t)
	d.Notices.Sort()
	c, err := d.since()
	if err != nil {
		t.Fatal(err)
	}
	word := c.replay()
	got := map[string]string{}
	for i := range d.Notices {
		got[d.Notices[i].Find+" "+d.Notices[i].Message] = word(&d.Notices[i])
	}
	want := map[string]string{"3 30 February": "new", "7 no unit": "unchanged", "8 no unit": "new",
		"9 the words speak of a shell": "unchanged"}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	if len(c.gone) != 1 || c.gone[0].Message != "31 February" || c.newly != 2 || c.staying != 2 {
		t.Errorf("gone %v, %d new, %d unchanged", c.gone, c.newly, c.staying)
	}
}

// What an earlier report had does not count where only new notices are to.
func TestNewIf(t *testing.T) {
	d := compared(t)
	all := func(*notice.Kind) bool { return true }
	if n, err := d.NewIf(all); n != 2 || err != nil {
		t.Errorf("%d new, %v", n, err)
	}
	if d.Baseline = nil; true {
		if n, err := d.NewIf(all); n != len(d.Notices) || err != nil {
			t.Errorf("%d without an earlier report, %v", n, err)
		}
	}
}

func TestBaselineInEveryForm(t *testing.T) {
	for form, wants := range map[string][]string{
		"text": {"  new: D3   30 February", "Gone since the earlier report:\n  D3: 31 February [test-day]",
			"Compared with old.json: 2 new, 2 as before, 1 gone."},
		"json":  {`"change": "new"`, `"change": "unchanged"`, `"gone": [`, `"31 February"`},
		"csv":   {",pointer,accepted,deadline,change\n", ",new\n", ",unchanged\n", ",gone\n"},
		"html":  {`2 new, 2 as before, 1 gone`, `<span class="new">new</span>`, "31 February"},
		"sarif": {`"baselineState": "new"`, `"baselineState": "unchanged"`, `"baselineState": "absent"`},
	} {
		var b bytes.Buffer
		if err := forms[form](&b, compared(t)); err != nil {
			t.Fatal(err)
		}
		for _, want := range wants {
			if !strings.Contains(b.String(), want) {
				t.Errorf("%s lacks %q:\n%s", form, want, b.String())
			}
		}
	}
}

func TestBaselineOfSeveralAlike(t *testing.T) {
	one := notice.Notice{Kind: unit, Message: "no unit", Location: notice.Location{Find: "7", Pointer: "/finds/0/depth"}}
	d := Document{Notices: notice.List{one}, Baseline: &Baseline{Notices: notice.List{one, one, one}}}
	if c, err := d.since(); err != nil || c.staying != 1 || len(c.gone) != 2 || c.newly != 0 {
		t.Errorf("%d unchanged, %d gone, %d new", c.staying, len(c.gone), c.newly)
	}
}

func TestBaselineThatIsNone(t *testing.T) {
	for text, want := range map[string]string{
		``:                                 "not a report of notices in JSON",
		`{"notices": [`:                    "not a report of notices in JSON",
		`[]`:                               "not a report of notices in JSON",
		`{"findslip": "1.0", "finds": []}`: `no "noticesVersion"`,
		`{"noticesVersion": "2.0", "notices":[]}`: `version "2.0"`,
		`{"noticesVersion": "1.0"}`:               `no list "notices"`,
		`{"noticesVersion": "1.0", "notices": [{"code": "a", "severity": "fatal", "message": "b"}]}`: `notice 1: severity "fatal"`,
		`{"noticesVersion": "1.0", "notices": [{"severity": "error", "message": "b"}]}`:              "notice 1 has no code",
	} {
		_, err := ReadBaseline(strings.NewReader(text), "old.json", limit.Limits{})
		if err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(),
			"reading the earlier report old.json: ") {
			t.Errorf("%s: %v, want %s", text, err, want)
		}
	}
	if b, err := ReadBaseline(strings.NewReader(`{"noticesVersion": "1.7", "notices": [], "later": true}`), "old.json",
		limit.Limits{}); err != nil || len(b.Notices) != 0 {
		t.Errorf("a later version: %v, %v", b, err)
	}
}
