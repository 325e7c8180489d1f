// Package country knows countries and those parts of them that have laws of their own, by ISO 3166: what people call
// them in eight languages, their outlines in degrees, and which of them a grid lies in.
//
//	country.Read("Schottland") // GB-SCT, nil
//	country.Read("Georgia")    // "", [GE US-GA]: only the writer knows
//
// A grid or a pair of degrees tells a country only as a question: outlines are boxes, not borders.
//
// This package is unstable: it may change between any two versions.
package country

import (
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/schema"
)

type row struct {
	Code  string   `json:"code"`
	Names []string `json:"names"`
}

// names is schema/data/country-names.json, ready for looking up.
type names struct {
	codes map[string]string   // folded name to code
	ask   map[string][]string // folded name that may mean several
	first map[string]string   // code to its English name
}

// theNames reads the table once; a test rules out that it cannot be read.
var theNames = sync.OnceValue(func() *names {
	table, _ := schema.Table[struct {
		Rows []row `json:"rows"`
		Ask  []struct {
			Name  string   `json:"name"`
			Codes []string `json:"codes"`
		} `json:"ask"`
	}]("country-names")
	n := &names{codes: map[string]string{}, ask: map[string][]string{}, first: map[string]string{}}
	for _, r := range table.Rows {
		n.first[r.Code] = r.Names[0]
		for _, name := range r.Names {
			n.codes[fold(name)] = r.Code
		}
	}
	for code := range n.first {
		if f := fold(code); n.codes[f] == "" {
			n.codes[f] = code
		}
	}
	for _, a := range table.Ask {
		n.ask[fold(a.Name)] = a.Codes
		delete(n.codes, fold(a.Name))
	}
	return n
})

// fold makes names comparable: without case, accents, points, hyphens and spaces.
func fold(name string) string { return strings.ReplaceAll(text.Key(name, "&"), " ", "") }

// Read returns the ISO 3166 code of a country or of a part of one, as people write it: a code, GB ENG, a name in one
// of eight languages, a name with the country behind it. A name that may mean several gives those instead; one that is
// not known gives nothing.
func Read(written string) (code string, perhaps []string) {
	n := theNames()
	if perhaps, ok := n.ask[fold(written)]; ok {
		return "", slices.Clone(perhaps)
	}
	if c := strings.TrimSpace(written); c == "UK" || strings.HasPrefix(c, "UK-") {
		return "GB" + c[2:], nil // which ISO 3166 keeps free for it
	} else if IsCode(c) {
		return c, nil // of ISO 3166, whatever else it may be short for
	}
	if code := n.codes[fold(written)]; code != "" {
		return code, nil
	}
	for _, sign := range [...]string{",", "(", "/"} { // Kent, England; Wales (UK); England/UK
		a, b, both := strings.Cut(strings.TrimRight(strings.TrimSpace(written), ")"), sign)
		if !both {
			continue
		}
		one, two := n.codes[fold(a)], n.codes[fold(b)]
		switch {
		case one != "" && two != "" && strings.HasPrefix(one, two):
			return one, nil
		case one != "" && two != "" && strings.HasPrefix(two, one), one == "" && two != "":
			return two, nil
		}
	}
	return "", nil
}

// IsCode reports whether a text is written as ISO 3166-1 or 3166-2 has its codes, in capital letters.
func IsCode(s string) bool {
	country, part, parted := strings.Cut(s, "-")
	if len(country) != 2 || !capital(country, false) {
		return false
	}
	return !parted || len(part) >= 1 && len(part) <= 3 && capital(part, true)
}

func capital(s string, digits bool) bool {
	for i := range len(s) {
		if (s[i] < 'A' || s[i] > 'Z') && !(digits && s[i] >= '0' && s[i] <= '9') {
			return false
		}
	}
	return true
}

// Known reports whether a code is that of a country or of a part of one that the table has.
func Known(code string) bool { return theNames().first[code] != "" }

// Name returns the English name of a country or a part; the code where it has none.
func Name(code string) string {
	if name := theNames().first[code]; name != "" {
		return name
	}
	if country, _, parted := strings.Cut(code, "-"); parted {
		if name := theNames().first[country]; name != "" {
			return name + " (" + code + ")"
		}
	}
	return code
}
