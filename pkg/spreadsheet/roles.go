package spreadsheet

import (
	"sync"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/lexicon"
)

var partOfSheet = sync.OnceValue(func() map[string]string {
	out := map[string]string{}
	for part, names := range lexicon.Forms("sheet") {
		for _, name := range names {
			out[find.FoldName(name)] = part
		}
	}
	return out
})

// sheetRole tells what a sheet holds by its name, and of a sheet of people which part they play.
func sheetRole(name string) (part, role string) {
	switch part := partOfSheet()[find.FoldName(name)]; part {
	case "finder", "landowner", "occupier":
		return "people", part
	default:
		return part, ""
	}
}
