package pipeline_test

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/pipeline"
)

func propose(t *testing.T, text string) *pipeline.Proposals {
	t.Helper()
	p, err := pipeline.Propose(context.Background(), "-", pipeline.Options{Stdin: strings.NewReader(text)})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

const field = `"permissions":[{"id":"permission-1","area":{"type":"Polygon","coordinates":[[[-1.23,52.5],[-1.22,52.5],[-1.22,52.51],[-1.23,52.51],[-1.23,52.5]]]}}]`

func at(position string, n int) string {
	return fmt.Sprintf(`{"id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a%02d","number":"%d","name":"bell","permission":"permission-1","found":{"date":"2026-04-12"},"position":{%s,"uncertainty":5}}`, n, n, position)
}

// Each sort of damage, what is proposed, and the rule that it is proposed for.
func TestProposals(t *testing.T) {
	report := func(finds ...string) string {
		return `{"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",` + field + `,"finds":[` + strings.Join(finds, ",") + `]}`
	}
	long := strings.Repeat("a", 255)
	for name, c := range map[string]struct {
		text string
		want []string // rule pointer before -> after
	}{
		"a range turned into a date":    {"No,Find,Depth (in)\n1,bell,2024-09-08\n", []string{"spreadsheet-date /depth 2024-09-08 -> 8-9 in", "spreadsheet-date /depth 2024-09-08 -> 9-8 in"}},
		"a fraction without a blank":    {"No,Find,Depth\n1,bell,\"81/2\"\"\"\n", nil},
		"letters in the wrong encoding": {"No,Find\n1,grÃ¼ner Knopf\n", []string{"text-damaged /name grÃ¼ner Knopf -> grüner Knopf"}},
		"noughts lost":                  {"No,Find\n001,a\n002,b\n3,c\n", []string{"number-damaged /number 3 -> 003"}},
		"a power of ten":                {"No,Find\n1.2E+12,a\n", []string{"number-damaged /number 1.2E+12 -> "}},
		"text cut":                      {"No,Find,Notes\n1,a," + long + "\n", []string{"text-cut /notes " + long + " -> "}},
		"mixed commas":                  {"No,Find,Weight (g)\n1,a,2.5\n2,b,\"3,5\"\n", []string{"decimal-comma /weight 3,5 -> 3.5"}},
		"a number twice":                {"No,Find,Finder\n7,a,finder-a\n007,b,finder-a\n", []string{"number-repeated /number 007 -> 007b"}},
		"a word misspelt":               {"No,Find,Material\n1,a,pewtre\n", []string{"term-not-listed /materials/0 pewtre -> pewter"}},
		"axes swapped": {report(at(`"longitude":52.505,"latitude":-1.225`, 1), at(`"longitude":52.506,"latitude":-1.226`, 2)),
			[]string{"swapped-axes /position/verbatim -1.225, 52.505 -> 52.505, -1.225", "swapped-axes /position/verbatim -1.226, 52.506 -> 52.506, -1.226"}},
		"a minus lost":     {report(at(`"longitude":1.225,"latitude":52.505`, 1)), []string{"lost-minus-longitude /position/verbatim 52.505, 1.225 -> 52.505, -1.225"}},
		"nothing is wrong": {"No,Find,Depth (cm)\n1,bell,20\n2,nail,7-9\n", []string{}},
	} {
		t.Run(name, func(t *testing.T) {
			p := propose(t, c.text)
			got := []string{}
			for _, x := range p.Proposals {
				got = append(got, fmt.Sprintf("%s %s %s -> %s", x.Rule, x.Pointer, x.Before, x.After))
				if x.Accepted || x.Reason == "" || x.Find == "" {
					t.Errorf("%+v", x)
				}
			}
			if c.want == nil {
				if len(got) == 0 {
					t.Error("nothing is proposed")
				}
			} else if !slices.Equal(got, c.want) {
				t.Errorf("proposed %q, want %q", got, c.want)
			}
			repairs(t, c.text, p)
		})
	}
}

// repairs accepts the first of each choice and all else that has a text, applies it, and sees that
// nothing is proposed of it any more and that the old words are still there.
func repairs(t *testing.T, text string, p *pipeline.Proposals) {
	t.Helper()
	taken, accepted := map[string]bool{}, 0
	for i := range p.Proposals {
		x := &p.Proposals[i]
		if x.After != "" && (x.Choice == "" || !taken[x.Choice]) {
			x.Accepted, taken[x.Choice] = true, true
			accepted++
		}
	}
	var file, out bytes.Buffer
	if err := pipeline.WriteProposals(&file, p); err != nil {
		t.Fatal(err)
	}
	back, err := pipeline.ReadProposals(&file)
	if err != nil {
		t.Fatal(err)
	}
	_, applied, err := pipeline.Repair(context.Background(), "-", back, &out, pipeline.Options{Stdin: strings.NewReader(text), To: pipeline.Findslip})
	if err != nil || applied != accepted {
		t.Fatalf("%d of %d applied: %v", applied, accepted, err)
	}
	if got := strings.Count(out.String(), "(before repair)"); got != accepted {
		t.Errorf("%d old texts are kept of %d", got, accepted)
	}
	for _, x := range propose(t, out.String()).Proposals {
		if x.After != "" {
			t.Errorf("after the repair there is still %+v", x)
		}
	}
}

func TestProposalsThatAreRefused(t *testing.T) {
	text := "No,Find,Depth (in)\n1,bell,2024-09-08\n"
	for name, change := range map[string]func(p *pipeline.Proposals){
		"both of a choice":  func(p *pipeline.Proposals) { p.Proposals[0].Accepted, p.Proposals[1].Accepted = true, true },
		"something else":    func(p *pipeline.Proposals) { p.Proposals[0].Accepted, p.Proposals[0].Before = true, "2024-09-09" },
		"another find":      func(p *pipeline.Proposals) { p.Proposals[0].Accepted, p.Proposals[0].Find = true, "urn:uuid:x" },
		"another report":    func(p *pipeline.Proposals) { p.Source.ReportID = "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11" },
		"no text to accept": func(p *pipeline.Proposals) { p.Proposals[0].Accepted, p.Proposals[0].After = true, "" },
		"no such member":    func(p *pipeline.Proposals) { p.Proposals[0].Accepted, p.Proposals[0].Pointer = true, "/depht" },
	} {
		p := propose(t, text)
		change(p)
		var file, out bytes.Buffer
		if err := pipeline.WriteProposals(&file, p); err != nil {
			t.Fatal(err)
		}
		back, err := pipeline.ReadProposals(&file)
		if err == nil {
			_, _, err = pipeline.Repair(context.Background(), "-", back, &out, pipeline.Options{Stdin: strings.NewReader(text), To: pipeline.Findslip})
		}
		if err == nil {
			t.Errorf("%s is accepted", name)
		}
	}
	for _, bad := range []string{"", "{}", `{"proposalsVersion":"2.0","private":true,"source":{"file":"","reportId":""},"proposals":[]}`} {
		if _, err := pipeline.ReadProposals(strings.NewReader(bad)); err == nil {
			t.Errorf("%q is read", bad)
		}
	}
}

func FuzzReadProposals(f *testing.F) {
	f.Add([]byte(`{"proposalsVersion":"1.0","private":true,"source":{"file":"a","reportId":""},"proposals":[{"id":"p-0001","find":"x","number":"1","pointer":"/depth","before":"a","after":"b","rule":"r","reason":"q","accepted":true}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := pipeline.ReadProposals(bytes.NewReader(data))
		if err != nil {
			return
		}
		_, _, _ = pipeline.Repair(context.Background(), "-", p, &bytes.Buffer{}, pipeline.Options{Stdin: strings.NewReader(log), To: pipeline.Findslip})
	})
}
