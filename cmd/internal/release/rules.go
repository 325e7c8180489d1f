package release

import (
	"maps"
	"slices"
)

// A rule is a kind of notice as it is published.
type rule struct {
	Code     string `json:"code"`
	Severity string `json:"severity"`
	Caution  bool   `json:"caution,omitempty"`
	Spec     string `json:"spec"`
	Title    string `json:"title"`
}

// gravity ranks severities, the gravest first.
var gravity = map[string]int{"error": 1, "warning": 2, "info": 3}

// compareRules says what changed from the notices of one version to those of the next.
func compareRules(old, now map[string]rule) Changes {
	var found Changes
	for _, code := range slices.Sorted(maps.Keys(old)) {
		was, where := old[code], "rule "+code
		is, there := now[code]
		if !there {
			found.add(Breaking, where, "the code is gone")
			continue
		}
		switch a, b := gravity[was.Severity], gravity[is.Severity]; {
		case b < a:
			found.add(Breaking, where, "raised from %s to %s: what passed may fail", was.Severity, is.Severity)
		case b > a:
			found.add(Compatible, where, "lowered from %s to %s", was.Severity, is.Severity)
		}
		switch {
		case was.Caution && !is.Caution:
			found.add(Breaking, where, "is no caution any more")
		case !was.Caution && is.Caution:
			found.add(Compatible, where, "is a caution now")
		}
		if was.Title != is.Title || was.Spec != is.Spec {
			found.add(Documentation, where, "another title or section")
		}
	}
	for _, code := range slices.Sorted(maps.Keys(now)) {
		if _, there := old[code]; !there {
			found.add(Compatible, "rule "+code, "a new notice (%s)", now[code].Severity)
		}
	}
	found.sort()
	return found
}
