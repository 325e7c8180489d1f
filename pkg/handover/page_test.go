package handover_test

import (
	"encoding/csv"
	"html"
	"regexp"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/handover"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/share"
)

// The form on the page for an expert comes home: what its script saves - a row for each find that was answered, a
// column for each field of the form - is read as opinions, with who gave them and when.
func TestThePageForAnExpertComesHome(t *testing.T) {
	kept, log := keep(t), ours(t)
	text := string(sent(t, kept, share.Expert, pipeline.Page))
	section := regexp.MustCompile(`(?s)<section class="find" data-id="([^"]+)" data-number="([^"]*)">.*?</section>`)
	sections := section.FindAllStringSubmatch(text, -1)
	if len(sections) == 0 {
		t.Fatal("the page has no find")
	}
	row, head := []string{html.UnescapeString(sections[0][1]), sections[0][2], "A. Knower"},
		[]string{"id", "number", "Answered by"}
	values := map[string]string{"opinions.1.says.name": "crotal bell, with pea", "opinions.1.certainty": "probable",
		"opinions.1.seen": "in-hand", "opinions.1.says.dating.verbatim": "c. 1700", "otherNumbers.1.number": "K 17"}
	for _, m := range regexp.MustCompile(`name="([a-zA-Z0-9.]+)"`).FindAllStringSubmatch(sections[0][0], -1) {
		head, row = append(head, m[1]), append(row, values[m[1]])
		delete(values, m[1])
	}
	if len(values) > 0 {
		t.Errorf("the form does not ask for %v", values)
	}
	var answer strings.Builder
	w := csv.NewWriter(&answer)
	if err := w.WriteAll([][]string{append(head, "opinions.1.on"), append(row, "2026-06-05")}); err != nil {
		t.Fatal(err)
	}
	p, err := handover.Propose(log, read(t, []byte(answer.String()), pipeline.CSV), kept.Register, handover.Options{})
	if err != nil || len(p.Proposals) != 2 || p.From != "A. Knower" {
		t.Fatalf("%v %+v", err, p)
	}
	for i := range p.Proposals {
		p.Proposals[i].Accepted = true
	}
	done, err := handover.Accept(log, p)
	if err != nil || done.Applied != 2 {
		t.Fatal(err, done)
	}
	for _, f := range done.Log.Finds {
		if len(f.OtherNumbers) == 0 || f.OtherNumbers[len(f.OtherNumbers)-1].Number != "K 17" {
			continue
		}
		o := f.Opinions[len(f.Opinions)-1]
		if done.Log.Person(o.By).Name != "A. Knower" || o.On != "2026-06-05" || o.Certainty != "probable" ||
			!o.Seen.Is("in-hand") || !strings.Contains(string(o.Says), "crotal bell, with pea") ||
			!strings.Contains(string(o.Says), "c. 1700") {
			t.Errorf("%+v says %s", o, o.Says)
		}
		return
	}
	t.Error("no find has the number")
}
