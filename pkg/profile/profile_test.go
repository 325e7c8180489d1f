package profile

import (
	"strings"
	"testing"

	"github.com/findslip/findslip/schema"
)

// The levels are profiles as any other: whole, each based on the one before, with words in every language.
func TestLevelsAreProfiles(t *testing.T) {
	names := LevelNames()
	if len(names) < 2 || Level(DefaultLevel()) == nil {
		t.Fatalf("levels %v, default %q", names, DefaultLevel())
	}
	for i, name := range names {
		raw, ok := schema.Profile(name)
		if !ok {
			t.Fatalf("level %s is not shipped", name)
		}
		e, list, err := load(name, raw, func(string) ([]byte, error) { return nil, errNotShipped }, Known{})
		if err != nil || e == nil || len(list) > 0 {
			t.Fatalf("%s: %v %v", name, err, list)
		}
		if i > 0 && (len(e.Chain) != i+1 || len(e.Asks) <= len(Levels()[i-1].Asks)) {
			t.Errorf("%s is not based on the level before it: %v", name, e.Chain)
		}
		for _, a := range e.Asks {
			if a.Strength != Must || len(a.Columns()) == 0 {
				t.Errorf("%s: %s is of strength %s and has the columns %v", name, a.Name, a.Strength, a.Columns())
			}
			for _, language := range e.Languages {
				if strings.TrimSpace(a.Title[language]) == "" || e.Title[language] == "" {
					t.Errorf("%s: %s has no words in %s", name, a.Name, language)
				}
			}
		}
	}
}
