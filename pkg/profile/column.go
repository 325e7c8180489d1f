package profile

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
)

// steadColumns are the columns of a template that stand for members which are worked out of them.
var steadColumns = map[string]string{
	"/found": "found.date", "/position": "position.verbatim", "/position/longitude": "position.verbatim",
	"/position/latitude": "position.verbatim", "/position/verbatim": "position.verbatim",
	"/position/uncertainty": "position.uncertainty", "/place": "place.name", "/materials": "materials.1",
	"/dating": "dating.verbatim", "/dating/date": "dating.verbatim", "/dating/earliest": "dating.verbatim",
	"/dating/latest": "dating.verbatim", "/dating/period": "dating.verbatim", "/media": "media.1.file",
	"/media/file": "media.1.file", "/marks": "marks.1.text", "/dimensions": "dimensions.length",
	"/otherDepths": "otherDepths.1", "/technique": "technique.1", "/condition": "condition.state",
	"/identification": "identification.basis", "/signal": "signal.reading",
}

// Column returns the flat name of the column of a template that holds a member of a find, empty if none does.
func Column(pointer string) string {
	if name := steadColumns[pointer]; name != "" {
		return name
	}
	for _, name := range heading.Fields() {
		at := strings.Split(find.PointerOf(name), "/")
		at = slices.DeleteFunc(at, func(token string) bool { return token != "" && token[0] >= '0' && token[0] <= '9' })
		if strings.Join(at, "/") == pointer && name != "absent" && name != "id" {
			return name
		}
	}
	if at := strings.LastIndexByte(pointer, '/'); at > 0 && slices.Contains(partsOfCells, pointer[at+1:]) {
		return Column(pointer[:at])
	}
	return ""
}

// partsOfCells are members that are read from the cell of the object that they belong to.
var partsOfCells = []string{"min", "max", "unit", "said", "resolution", "approximate", "verbatim", "code", "certainty"}

// Columns returns the columns of a template that an ask needs: one for each member that has one of those that it asks
// for and that its condition looks at.
func (a *Ask) Columns() (out []string) {
	for _, pointer := range a.Needs() {
		if name := Column(pointer); name != "" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}
