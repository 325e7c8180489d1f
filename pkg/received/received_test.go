package received_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/received"
	"github.com/findslip/findslip/pkg/validate"
)

const asks = `{"findslipProfile": "1", "id": "thornmere", "version": "1", "title": {"en": "the recorder of Thornmere"},
 "body": {"name": {"en": "Recorder of Thornmere"}, "contact": {"en": "at the library"}}, "promises": [{"en": "we answer in 8 weeks"}],
 "asks": [{"name": "finder", "strength": "must", "ask": {"any": ["/finder"]}, "title": {"en": "who found it"}},
  {"name": "weight", "strength": "should", "ask": {"any": ["/weight"]}, "title": {"en": "the <b>weight"}}]}`

// look looks through logs, given as name and text.
func look(t testing.TB, text string, logs ...[2]string) *received.Set {
	t.Helper()
	dir := t.TempDir()
	for _, l := range logs {
		if err := os.WriteFile(filepath.Join(dir, l[0]), []byte(l[1]), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	e, list, err := validate.LoadProfile("it", func(string) ([]byte, error) { return []byte(text), nil })
	if err != nil || e == nil {
		t.Fatal(err, list)
	}
	o := pipeline.Options{Profiles: []*profile.Effective{e}}
	all, _, err := pipeline.Logs(context.Background(), []string{dir}, o)
	if err != nil {
		t.Fatal(err)
	}
	set, err := received.Look(context.Background(), all, o)
	if err != nil {
		t.Fatal(err)
	}
	return set
}

const (
	head = "Number,Date found,Find,Finder,Grid ref\n"
	anna = head + "1,2026-04-11,buckle,finder-a,SP 5270 9011\n2,2026-04-12,button,,SP 5271 9011\n"
	bert = head + "9,2026-04-11,Buckle,finder-b,SP 5270 9011\n8,2026-04-11,grenade,finder-b,SP 5272 9012\n"
)

// Who sent what, what is missing, what came twice, and what can hurt somebody.
func TestLook(t *testing.T) {
	set := look(t, strings.Replace(asks, "<b>", "", 1), [2]string{"a.csv", anna}, [2]string{"b.csv", bert},
		[2]string{"c.csv", ""})
	var b bytes.Buffer
	if err := set.Text(&b); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"4 finds in 3 logs, 3 of them good", "finder-a  a.csv  2", "could not be read",
		"SAFETY  finder-b, find 8: ", "b.csv, find 9: looks the same as one in a.csv"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the table lacks %q:\n%s", want, b.String())
		}
	}
	if len(set.Senders) != 3 || set.Senders[2].Err == nil || set.Senders[0].Asked[0].Finds != 2 || set.All[0].Finds != 4 {
		t.Errorf("counted wrongly: %+v", set)
	}
	if _, ok := set.Letter(set.Senders[2]); ok {
		t.Error("a letter to somebody whose log could not be read")
	}
	l, _ := set.Letter(set.Senders[1])
	if text := l.Text(); !strings.Contains(text, "SAFETY") || !strings.Contains(text, "Another sender has this one too") ||
		!strings.Contains(text, "Find 9\n") || !strings.Contains(text, "The weight") ||
		!strings.Contains(text, "We answer in 8 weeks") ||
		!strings.Contains(text, "at the library") || !strings.HasSuffix(text, "Recorder of Thornmere\n") {
		t.Errorf("the letter:\n%s", text)
	}
	b.Reset()
	if err := set.JSON(&b); err != nil || !strings.Contains(b.String(), `"good": [`) {
		t.Errorf("%v %s", err, b.String())
	}
}

// What a log or a profile says stays text on the page of a letter.
func TestLetterIsText(t *testing.T) {
	set := look(t, strings.Replace(asks, "<b>", "", 1), [2]string{"a.csv", head + "<script>,2026-04-11,x,<img src=x>,\n"})
	l, _ := set.Letter(set.Senders[0])
	l.Parts = append(l.Parts, received.Part{Text: "<script>", Items: []string{"<script>"}})
	var b bytes.Buffer
	if err := errors.Join(l.HTML(&b), set.HTML(&b)); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "<td>1</td>") || !strings.Contains(b.String(), "</table>") {
		t.Errorf("no table of senders: %s", b.String())
	}
	if page := b.String(); strings.Contains(page, "<script") || strings.Contains(page, "<img") {
		t.Error(page)
	}
}

// Nothing is asked of what nobody is to touch; a day that could not be read is not called missing; and a reason is
// called an answer only where it is one.
func TestLetterAsksNoHarm(t *testing.T) {
	set := look(t, `{"findslipProfile": "1", "id": "x", "version": "1", "title": {"en": "X"}, "asks": [
  {"name": "a", "strength": "must", "ask": {"any": ["/media"], "atLeast": 2}, "title": {"en": "two pictures"}},
  {"name": "b", "strength": "must", "ask": {"any": ["/weight"], "given": true}, "title": {"en": "weight"}},
  {"name": "c", "strength": "must", "ask": {"any": ["/found/date"]}, "title": {"en": "day"}},
  {"name": "d", "strength": "must", "when": {"member": "/materials", "is": ["silver"]}, "ask": {"any": ["/depth"]}},
  {"name": "e", "strength": "should", "ask": {"any": ["/dimensions"]}, "title": {"en": "length"}},
  {"name": "f", "strength": "must", "ask": {"any": ["/finder"]}, "title": {"en": "finder"}}]}`,
		[2]string{"a.csv", "Number,Date found,Find,Material\n1,2/6/2026,buckle,iron\n2,1/5/2026,live grenade,\n" +
			"3,3/4/2026,human tooth,\n4,3/6/2026,ring,gold\n"})
	l, _ := set.Letter(set.Senders[0])
	text := l.Text()
	for _, want := range []string{"  - Day (it is written, but not understood; write a day with its month as a word, " +
		"such as 2 June 2026) (4 finds)\n", "Leave it as it is: finds 2, 3.", "  - Two pictures: finds 1, 4\n",
		"it is an answer too.\n\nHere we need the answer itself:\n  - Weight: finds 1, 4\n\n",
		"  - Length: finds 1, 4\n", "  - Finder (4 finds)\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("the letter lacks %q", want)
		}
	}
	if strings.Contains(text, "would tell") || t.Failed() {
		t.Errorf("the letter:\n%s", text)
	}
}

func Example() {
	l := received.Letter{To: "To finder-a", From: "Recorder of Thornmere", Parts: []received.Part{
		{Text: "Thank you for april.csv. It holds 3 finds. 2 of them are as we need them."},
		{Text: "What we still need:", Items: []string{"Who found it (1 find): 7"}}}}
	fmt.Print(l.Text())
	// Output:
	// To finder-a
	//
	// Thank you for april.csv. It holds 3 finds. 2 of them are as we need them.
	//
	// What we still need:
	//   - Who found it (1 find): 7
	//
	// Recorder of Thornmere
}
