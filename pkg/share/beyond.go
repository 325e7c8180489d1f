package share

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/profile"
)

// whole are the actions of the table with which an audience gets what there is, as far as an ask can tell.
var whole = []string{keep, key, fresh, code, lexicon, consent, codes}

// Beyond returns the asks of a profile that want more than a copy for an audience holds, by name, with what the
// audience gets in its place. A profile chooses no audience: it is the finder's.
func Beyond(e *profile.Effective, a Audience) map[string]string {
	out := map[string]string{}
	for _, ask := range e.Asks {
		if ask.Strength != profile.Must && ask.Strength != profile.Should {
			continue
		}
		how := ""
		for _, w := range ask.Ask.Ways() {
			if how = beyond(w, a); how == "" {
				break
			}
		}
		if how != "" {
			out[ask.Name] = how
		}
	}
	return out
}

// beyond is what an audience gets in the place of what is wanted: nothing where it gets one of the members.
func beyond(w *profile.Wanted, a Audience) (how string) {
	for _, pointer := range w.Any {
		if how = given(pointer, a); how == "" || w.Within >= 1000 && how == cell {
			return ""
		}
	}
	return how
}

// given is what an audience gets in the place of a member of a find: nothing where it gets some of it as it is.
func given(pointer string, a Audience) string {
	path := strings.ReplaceAll(strings.TrimPrefix(pointer, "/"), "/", ".")
	first, rest, further := strings.Cut(path, ".")
	switch {
	case first == "permission" && further:
		path = "permissions." + rest
	case first == "finder" && further:
		path = "people." + rest
	default:
		path = "finds." + path
	}
	worst := ""
	for leaf := range published().leaves {
		if leaf != path && !strings.HasPrefix(leaf, path+".") {
			continue
		}
		act := published().action(leaf, a)
		if slices.Contains(whole, act) {
			return ""
		}
		if worst == "" || worst == withhold {
			worst = act
		}
	}
	if worst == "" {
		return withhold
	}
	return worst
}
