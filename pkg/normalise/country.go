package normalise

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/country"
	"github.com/findslip/findslip/pkg/find"
)

// country brings the country of a place to its code of ISO 3166. The words stay in the place as written, unless it has
// words of its own; a name that is not known, or may mean several, is asked about and leaves no code.
func (n *normaliser) country(pointer string, p *find.Place) *find.Place {
	if p == nil || p.Country == "" {
		return p
	}
	code := n.jurisdiction(pointer+"/country", p.Country)
	if code == p.Country {
		return p
	}
	c := *p
	if c.Country = code; c.Verbatim == "" {
		c.Verbatim = p.Country
	}
	return &c
}

// jurisdiction returns the code that a text names; empty where it names none.
func (n *normaliser) jurisdiction(pointer, written string) string {
	if written == "" {
		return ""
	}
	code, perhaps := country.Read(written)
	switch {
	case code != "":
	case len(perhaps) > 0:
		names := make([]string, len(perhaps))
		for i, p := range perhaps {
			names[i] = country.Name(p) + " (" + p + ")"
		}
		n.say(countryUnread, pointer, fmt.Sprintf("which country is meant: %s?", strings.Join(names, ", ")))
	default:
		n.say(countryUnread, pointer, "this is no name of a country that is known here; the words are kept")
	}
	return code
}
