package profile

import (
	"bytes"
	"strings"
	"testing"
)

// A template with must, should, may and never below its headings becomes a profile; why stands below that.
func TestNewFromTable(t *testing.T) {
	var a Answers
	rows := [][]string{{"Number", "Date found", "Depth [cm]", "Value", "Notes"}, {"example", "2026-04-12", "18"},
		{"", "must", "should", "never"}, {"", "We sort by day"}}
	if err := FromTable(rows, &a); err != nil {
		t.Fatal(err)
	}
	a.Name, a.BasedOn, a.BaseSum = "Club of Thornmere", "bag", strings.Repeat("0", 64)
	raw, err := New(a)
	if err != nil {
		t.Fatal(err)
	}
	p, list := Parse("it", raw)
	if len(list) > 0 || p.ID != "club-of-thornmere" || len(p.Asks) != 3 {
		t.Fatalf("%v\n%s", list, raw)
	}
	if day := p.Asks[0]; day.Name != "day" || day.Strength != Must || day.Why["en"] != "We sort by day" {
		t.Errorf("the day: %+v", day)
	}
	if p.Asks[1].Ask.Any[0] != "/depth" || p.Asks[2].Strength != Never {
		t.Errorf("%+v %+v", p.Asks[1], p.Asks[2])
	}
	for _, rows := range [][][]string{{{"Number"}}, {{"Number"}, {"x"}}, {{"Whatsit"}, {"must"}}} {
		if err := FromTable(rows, new(Answers)); err == nil {
			t.Errorf("%v is taken", rows)
		}
	}
	for _, a := range []Answers{{Name: "x", Must: []string{"whatsit"}}, {Name: " ", Must: []string{"Finder"}}} {
		if raw, err := New(a); err == nil {
			t.Errorf("a heading that nobody knows, or a profile of nobody, is taken: %s", raw)
		}
	}
}

// Conditions in words say what the JSON says, there and back; what is not understood is told.
func TestWhenInWords(t *testing.T) {
	for text, want := range map[string]string{
		"Class is coin, token":                                   `Class is coin, token`,
		"count at least 5 and Material is silver":                `Count at least 5 and Material is silver`,
		"Picture not given or Picture given":                     `Picture not given or Picture given`,
		"Field is Long Furlong":                                  `Field is Long Furlong`,
		"Date found from 2026-01-01 to 2026-12-31":               `Date found from 2026-01-01 to 2026-12-31`,
		"Depth at most 20":                                       `Depth at most 20`,
		`{"not":{"member":"/count","given":true}}`:               `not (Count given)`,
		`/count at least 1 and /count at most 2 or /depth given`: `(Count at least 1 and Count at most 2) or Depth given`,
		"/identification/by given":                               `/identification/by given`,
		"Class is not coin, token":                               `Class is not coin, token`,
		"not (Picture given or not Class is coin)":               `not (Picture given or Class is not coin)`,
		"Material is gold and (Count given or Field is Furlong (east))": `Material is gold and (Count given or ` +
			`Field is Furlong (east))`,
		`{"member":"/count","atLeast":2,"atMost":5}`: `{"member":"/count","atLeast":2,"atMost":5}`,
	} {
		c, err := ParseWhen(text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if got := WriteWhen(c); got != want {
			t.Errorf("%q is written %q, want %q", text, got, want)
		}
		if again, err := ParseWhen(WriteWhen(c)); err != nil || !same(c, again) {
			t.Errorf("%q does not come back: %v", text, err)
		}
		if len(c.say("en")) == 0 {
			t.Errorf("%q is not put in words", text)
		}
	}
	for _, text := range []string{"whatsit is coin", "Class", "count at least five", "{", "not ", "Count given and ", "(Count given",
		strings.Repeat("(", 500) + "Count given" + strings.Repeat(")", 500)} {
		if _, err := ParseWhen(text); err == nil {
			t.Errorf("%q is taken", text)
		}
	}
}

// Cells that cannot be read are named.
func TestSheetsSayWhatIsWrong(t *testing.T) {
	if _, err := ReadSheet(bytes.NewReader([]byte("no workbook"))); err == nil {
		t.Error("a text is taken for a workbook")
	}
	for member, want := range map[string]string{"whatsit": `sheet "Asks", cell C3: "whatsit" is no heading`, "Finder": ""} {
		var book bytes.Buffer
		p, _ := Parse("it", []byte(ask(`{"name": "a", "strength": "may", "ask": {"any": ["`+member+`"]}}`)))
		p.Asks = []*Ask{{Name: "a", Strength: May, Ask: Wanted{Any: []string{member}}}}
		if err := WriteSheet(&book, p); err != nil {
			t.Fatal(err)
		}
		if _, err := ReadSheet(&book); (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%s in the column of members: %v", member, err)
		}
	}
}

// A profile that is not meant for today says so; what it asks is said in words in the reports of examples/profiles.
func TestRemarks(t *testing.T) {
	e, _ := loadText(part(`"valid": {"from": "2026-01-01", "to": "2026-12-31"}`))
	for day, want := range map[string]int{"2025-12-31": 1, "2026-06-01": 0, "2027-01-01": 1} {
		if got := len(e.Remarks(day)); got != want {
			t.Errorf("%s: %d remarks", day, got)
		}
	}
}
