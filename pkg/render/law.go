package render

import (
	"regexp"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/schema"
)

// lawRow is what is told in other languages of a row of the table of law, whose English words stand in messages.
type lawRow struct {
	ID, Rule, Instrument, Section, SeenOn, Standing string

	words map[string]string // by language
}

// lawRows are the rows of which there are words in another language (schema/speech/law.json).
var lawRows = sync.OnceValue(func() (out []lawRow) {
	all, _ := schema.Rows[map[string]any]("law") // a test reads both
	text, _ := schema.Speech("law")
	var told struct {
		Rows []map[string]string `json:"rows"`
	}
	_ = json.Unmarshal(text, &told)
	words := map[string]map[string]string{}
	for _, r := range told.Rows {
		words[r["id"]] = r
	}
	for _, r := range all {
		member := func(name string) string { text, _ := r[name].(string); return text }
		if w := words[member("id")]; w != nil {
			out = append(out, lawRow{member("id"), member("rule"), member("instrument"), member("section"), member("seenOn"),
				member("standing"), w})
		}
	}
	return out
})

// law puts the rows of law that an English message names, as far as there are words for them.
func (s *speech) law(message string) string {
	var parts []string
	for _, r := range lawRows() {
		text := r.words[s.Language]
		if text == "" || !strings.Contains(message, r.Rule) {
			continue
		}
		if r.Standing != "law" {
			text = s.text("lawAsk", "text", text)
		}
		if r.Instrument != "" && r.SeenOn != "" {
			text = s.text("lawRead", "text", strings.TrimSuffix(text, "."), "source", strings.TrimSuffix(r.Instrument+", "+r.Section, ", "), "day", r.SeenOn)
		}
		parts = append(parts, sentence(text))
	}
	return strings.Join(parts, " ")
}

var phoneNumber = regexp.MustCompile(`\bcall [^.]*?\b(\d{3})\b`)

// numberToCall returns the telephone number that a message of danger names, in brackets behind a blank; empty where
// it names none.
func numberToCall(message string) string {
	if m := phoneNumber.FindStringSubmatch(message); m != nil {
		return " (" + m[1] + ")"
	}
	return ""
}
