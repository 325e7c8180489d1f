package table

import (
	"strings"
	"testing"

	"golang.org/x/text/encoding/charmap"
)

// TestGuess: words of logs, written in each encoding by another library, are read in the one they were written in.
func TestGuess(t *testing.T) {
	known := func(word string) bool {
		return strings.Contains(" größe fundstück münze vægt dybde genstand møntfund föremål vikt måtått profondeur pièce été année głębokość srebro mosiądz ", " "+word+" ")
	}
	logs := map[string]string{
		"german": "Nr;Größe;Fundstück\n1;12 mm;Münze\n", "danish": "Nr;Vægt;Møntfund\n", "swedish": "Nr;Föremål;Vikt\n",
		"french": "No;Pièce;Année\n1;écu;été\n", "english": "no,worth\n1,\xa35\n",
	}
	pages := map[string]*charmap.Charmap{"windows-1252": charmap.Windows1252, "macintosh": charmap.Macintosh,
		"ibm850": charmap.CodePage850}
	for want, page := range pages {
		for name, log := range logs {
			if name == "english" {
				continue
			}
			raw, err := page.NewEncoder().String(log)
			if err != nil {
				t.Fatal(err)
			}
			if g := guessEncoding([]byte(raw), known); g.name != want || !g.sure || g.word == "" {
				t.Errorf("%s in %s is taken for %+v", name, want, g)
			}
		}
	}
	raw, err := charmap.Windows1250.NewEncoder().String("nr;głębokość;mosiądz\n")
	if err != nil {
		t.Fatal(err)
	}
	if g := guessEncoding([]byte(raw), known); g.name != "windows-1250" || !g.sure {
		t.Errorf("polish is taken for %+v", g)
	}
	if g := guessEncoding([]byte(logs["english"]), known); g.name != "windows-1252" || g.sure {
		t.Errorf("a pound sign is taken for %+v", g)
	}
	// Without words of the lists, what no word looks like decides, and that is said to be in doubt.
	raw, _ = charmap.Macintosh.NewEncoder().String("Öl;Bötchen;Kübel;Käfig\n")
	if g := guessEncoding([]byte(raw), nil); g.name != "macintosh" || g.sure || g.word == "" {
		t.Errorf("unknown words are taken for %+v", g)
	}
}
