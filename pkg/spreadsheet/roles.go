package spreadsheet

import (
	"sync"

	"github.com/findslip/findslip/pkg/find"
)

// sheetNames are the names of sheets in six languages, by what the sheet holds: a part of the report, or
// people of one role. Other languages than English: from memory.
var sheetNames = map[string][]string{
	"finds": {"finds", "find list", "find log", "finds log", "funde", "fundliste", "fundbuch", "vondsten",
		"vondstenlijst", "fund", "objets", "trouvailles", "fynd", "fyndlista"},
	"people": {"people", "persons", "names", "contacts", "members", "personen", "kontakte", "mitglieder", "contacten",
		"leden", "personer", "kontakter", "medlemmer", "personnes", "membres", "medlemmar"},
	"finder": {"finders", "detectorists", "finder", "sondengänger", "vinders", "zoekers", "findere", "découvreurs",
		"prospecteurs", "upphittare"},
	"landowner": {"landowners", "land owners", "owners", "eigentümer", "grundeigentümer", "landeigentümer", "besitzer",
		"eigenaren", "grondeigenaren", "landeigenaren", "ejere", "lodsejere", "grundejere", "propriétaires", "ägare",
		"markägare"},
	"occupier": {"farmers", "tenants", "occupiers", "landwirte", "bauern", "pächter", "boeren", "pachters", "landmænd",
		"forpagtere", "exploitants", "agriculteurs", "fermiers", "lantbrukare", "arrendatorer"},
	"permissions": {"permissions", "permission", "fields", "farms", "sites", "land", "genehmigungen", "erlaubnisse",
		"felder", "flächen", "äcker", "toestemmingen", "akkers", "velden", "percelen", "tilladelser", "marker",
		"autorisations", "champs", "parcelles", "tillstånd", "fält", "åkrar"},
	"outings": {"outings", "sessions", "trips", "visits", "begehungen", "ausflüge", "touren", "suchgänge",
		"zoektochten", "tochten", "zoekdagen", "ture", "søgeture", "udflugter", "sorties", "prospections", "turer",
		"sökturer", "utflykter"},
	"report": {"report", "bericht", "rapport"},
}

var partOfSheet = sync.OnceValue(func() map[string]string {
	out := map[string]string{}
	for part, names := range sheetNames {
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
