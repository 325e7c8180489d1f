package danger

import (
	"os"
	"strings"
	"testing"
)

// What is written for people about ammunition or the dead is wrong unless it forbids or sends away: the sentences are
// ours, in eight languages and one that is not known.
func TestHeed(t *testing.T) {
	w, err := Read()
	if err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile("testdata/heed.txt")
	n := 0
	for line := range strings.Lines(string(raw)) {
		mark, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		language, text, _ := strings.Cut(rest, "|")
		speaks, wrong := w.Heed(language, text)
		if n++; (speaks && wrong != "") != (mark == "-") {
			t.Errorf("%s: speaks %v, wrong %q", line, speaks, wrong)
		}
	}
	if err != nil || n < 50 {
		t.Errorf("%d sentences: %v", n, err)
	}
}
