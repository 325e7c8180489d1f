package render

import (
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/schema"
)

// Every row of law that has words of another language is a row of the table, and is told in them.
func TestLawInLanguages(t *testing.T) {
	text, err := schema.Speech("law")
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(text), `"id"`); n != len(lawRows()) {
		t.Errorf("%d rows in other languages, %d of them in the table of law", n, len(lawRows()))
	}
	for _, r := range lawRows() {
		for language, words := range r.words {
			s := speechOf(language)
			if language == "id" {
				continue
			}
			g := notice.Group{Kind: &kinds.LawOwner, Count: 1,
				Examples: []notice.Notice{{Kind: &kinds.LawOwner, Message: "Find 3. This may apply: " + r.Rule + " Ask: somebody."}}}
			if say, _ := s.say(&g); s.Language != language || !strings.Contains(say, strings.TrimSuffix(words, ".")) {
				t.Errorf("%s in %s: %s", r.ID, language, say)
			}
		}
	}
}

// Whoever must be called is named with the number of the country, where the message has one.
func TestNumberToCall(t *testing.T) {
	for message, want := range map[string]string{
		"keep others away and call 999 and ask for the police, on the shore for the coastguard.": " (999)",
		"keep others away and call the police (0900-8844; in danger 112).":                       " (112)",
		"keep others away and call the police or the emergency number of the place.":             "",
	} {
		if got := numberToCall(message); got != want {
			t.Errorf("%s: %q", message, got)
		}
	}
}
