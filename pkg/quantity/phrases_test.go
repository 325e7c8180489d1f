package quantity

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/lexicon"
)

// One phrase means one thing in every language, with the language stated and without: testdata/vectors/phrases.json.
func TestPhrasesMeanTheSame(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/vectors/phrases.json")
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	if err := json.Unmarshal(raw, &rows); err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		if row["kind"] != "" {
			continue // pkg/normalise reads these
		}
		for _, tag := range lexicon.Tags() {
			if row[tag] == "" {
				t.Errorf("%q has no words in %s", row["phrase"], tag)
				continue
			}
			for _, l := range [...]*lexicon.Language{lexicon.ByTag(tag), nil} {
				r, err := NormaliseLength(row[tag]+" 20 cm", Options{Language: l})
				if err != nil {
					t.Errorf("%s: %v", tag, err)
					continue
				}
				var said []string
				if !r.Max.Known {
					said = append(said, "at least")
				}
				if !r.Min.Known {
					said = append(said, "at most")
				}
				if r.Approximate {
					said = append(said, "about")
				}
				if got := strings.Join(said, ", "); got != row["means"] {
					t.Errorf("%s: %q is %q, not %q", tag, row[tag], got, row["means"])
				}
			}
		}
	}
}
