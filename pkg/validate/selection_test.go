package validate

import (
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
)

// The rules that are off by name are rules, and none of safety, law or sharing.
func TestOffByDefault(t *testing.T) {
	if len(kinds.Off()) == 0 {
		t.Fatal("none is off")
	}
	for _, code := range kinds.Off() {
		found := slices.Contains([]string{"dating-not-read", "depth-names-layer", "term-not-listed"}, code) // of readers
		for _, r := range Catalogue() {
			if r.Code == code {
				found = true
				if fixed(r) {
					t.Errorf("%s cannot be off", code)
				}
			}
		}
		if !found {
			t.Errorf("%s is no rule", code)
		}
	}
}

func TestSelect(t *testing.T) {
	has := func(selection, code string) bool {
		t.Helper()
		rules, err := Select(selection)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rules {
			if r.Code == code {
				return true
			}
		}
		return false
	}
	for _, c := range []struct {
		selection, code string
		want            bool
	}{
		{"", "depth-implausible", true}, {"", "precious-by-eye", false}, {"all", "precious-by-eye", true},
		{"default", "precious-by-eye", false},
		{"+precious-by-eye", "precious-by-eye", true}, {"+precious-by-eye", "depth-implausible", true},
		{"-depth", "depth-implausible", false},
		{"-depth", "null-island", true}, {"depth", "depth-implausible", true}, {"depth", "null-island", false},
		{"error", "null-island", true},
		{"error", "depth-implausible", false}, {"all,-error", "null-island", false}, {"depth", "ordnance-possible", true},
		{"-safety", "ordnance-possible", true},
		{"-sharing", "position-too-exact", true},
	} {
		if got := has(c.selection, c.code); got != c.want {
			t.Errorf("%q has %s: %v, want %v", c.selection, c.code, got, c.want)
		}
	}
	if _, err := Select("no-such-rule"); err == nil {
		t.Error("a name that is none is taken")
	}
}

// An acceptance of a rule that was not asked is not called stale: nothing is known of it.
func TestAcceptancesOfRulesThatAreOff(t *testing.T) {
	a := newAcceptances([]find.Acceptance{{Code: "recorded-late", Reason: "typed in winter"},
		{Code: "depth-far", Reason: "a ditch"}})
	rules, err := Select("")
	if err != nil {
		t.Fatal(err)
	}
	if list := a.stale(rules); len(list) != 1 || !strings.Contains(list[0].Message, "depth-far") {
		t.Error(list)
	}
}
