package spreadsheet

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// templateLanguages are the languages of a template, in the order of the texts below. Texts in other
// languages than English are from memory.
var templateLanguages = []string{"en", "de", "nl", "da", "fr", "sv"}

// inLanguages is one text in each of templateLanguages.
type inLanguages [6]string

func (t inLanguages) in(language string) string {
	return t[max(0, slices.Index(templateLanguages, language))]
}

// exampleWord marks the row that is never imported.
var exampleWord = inLanguages{"example", "Beispiel", "voorbeeld", "eksempel", "exemple", "exempel"}

// examples are the words of that row, by field.
var examples = map[string]inLanguages{
	"number":            exampleWord,
	"found.date":        same("2026-04-12"),
	"name":              {"crotal bell", "Schelle", "rinkelbel", "bjælde", "grelot", "bjällra"},
	"position.verbatim": same("SP 5270 9011"),
	"count":             same("1"),
	"finder":            same("finder-a"),
	"permission":        same("Long Furlong"),
	"notes": {"still rattles", "klingelt noch", "rinkelt nog", "ringler stadig", "sonne encore",
		"skallrar ännu"},
	"dimensions.diameter":  same("23"),
	"weight":               same("18"),
	"place.name":           same("Thornmere"),
	"position.uncertainty": same("8"),
}

// exampleDepth is the depth of the example, by unit.
var exampleDepth = map[string]string{"in": "7-9", "cm": "18-23"}

// exampleCode is the code whose label stands in the example, by list.
var exampleCode = map[string]string{"depth-basis": "tape-measured", "position-method": "phone",
	"material": "copper-alloy"}

func same(text string) inLanguages { return inLanguages{text, text, text, text, text, text} }

// help is what is shown at a cell, by field; UNIT stands for the unit of the column.
var help = map[string]inLanguages{
	"number": {"The number on the bag, as text. 007 and 7 are one number.",
		"Die Nummer auf der Tüte, als Text. 007 und 7 sind dieselbe Nummer.",
		"Het nummer op het zakje, als tekst. 007 en 7 zijn hetzelfde nummer.",
		"Nummeret på posen, som tekst. 007 og 7 er samme nummer.",
		"Le numéro sur le sachet, comme texte. 007 et 7 sont le même numéro.",
		"Numret på påsen, som text. 007 och 7 är samma nummer."},
	"found.date": {"The day of the find. 2026-04-12 cannot be misread, 3/4/2026 can.",
		"Der Tag des Fundes. 2026-04-12 kann niemand falsch lesen, 3/4/2026 schon.",
		"De dag van de vondst. 2026-04-12 kan niemand verkeerd lezen, 3/4/2026 wel.",
		"Dagen for fundet. 2026-04-12 kan ingen læse forkert, det kan man med 3/4/2026.",
		"Le jour de la trouvaille. 2026-04-12 ne prête pas à confusion, 3/4/2026 si.",
		"Dagen för fyndet. 2026-04-12 kan ingen läsa fel, det kan man med 3/4/2026."},
	"found.time": {"Local time, such as 14:30.", "Ortszeit, etwa 14:30.", "Plaatselijke tijd, zoals 14:30.",
		"Lokal tid, for eksempel 14:30.", "Heure locale, par exemple 14:30.", "Lokal tid, till exempel 14:30."},
	"name": {"What it is, in your own words. Say so if you are not sure.",
		"Was es ist, in eigenen Worten. Schreiben Sie dazu, wenn Sie nicht sicher sind.",
		"Wat het is, in uw eigen woorden. Zeg het erbij als u niet zeker bent.",
		"Hvad det er, med dine egne ord. Skriv det, hvis du ikke er sikker.",
		"Ce que c'est, avec vos propres mots. Dites-le si vous n'êtes pas sûr.",
		"Vad det är, med egna ord. Skriv det om du inte är säker."},
	"depth": {"As you know it: 8, 7-9, more than 12, about 6. The unit is UNIT unless you write another. If there is none: not measured.",
		"Wie Sie sie wissen: 8, 7-9, mehr als 12, etwa 6. Die Einheit ist UNIT, wenn Sie keine andere schreiben. Wenn es keine gibt: nicht gemessen.",
		"Zoals u die weet: 8, 7-9, meer dan 12, ongeveer 6. De eenheid is UNIT, tenzij u een andere schrijft. Als er geen is: niet gemeten.",
		"Som du kender den: 8, 7-9, mere end 12, ca. 6. Enheden er UNIT, medmindre du skriver en anden. Hvis der ingen er: ikke målt.",
		"Comme vous la savez : 8, 7-9, plus de 12, environ 6. L'unité est UNIT, sauf si vous en écrivez une autre. S'il n'y en a pas : non mesuré.",
		"Så som du vet det: 8, 7-9, mer än 12, ca 6. Enheten är UNIT om du inte skriver en annan. Om det inte finns något: inte mätt."},
	"depth.basis": {"How the depth was known. A guess is welcome if it is called a guess.",
		"Woher die Tiefe bekannt ist. Eine Schätzung ist willkommen, wenn sie so heißt.",
		"Hoe de diepte bekend is. Een schatting is welkom als die zo heet.",
		"Hvordan dybden er kendt. Et skøn er velkomment, når det kaldes et skøn.",
		"Comment la profondeur est connue. Une estimation est bienvenue si elle est dite telle.",
		"Hur djupet är känt. En uppskattning går bra om den kallas så."},
	"position.verbatim": {"A grid reference with its letters, or latitude and longitude as the device shows them.",
		"Koordinaten mit ihrem System, oder Breite und Länge, wie das Gerät sie zeigt.",
		"Coördinaten met hun stelsel, of breedte en lengte zoals het apparaat ze toont.",
		"Koordinater med deres system, eller bredde og længde som apparatet viser dem.",
		"Des coordonnées avec leur système, ou latitude et longitude telles que l'appareil les affiche.",
		"Koordinater med deras system, eller latitud och longitud så som enheten visar dem."},
	"position.method": {"How the position was taken: it tells how far off it may be.",
		"Wie die Position bestimmt wurde: das sagt, wie weit sie abweichen kann.",
		"Hoe de positie is bepaald: dat zegt hoe ver ze ernaast kan zitten.",
		"Hvordan positionen er bestemt: det siger, hvor meget den kan afvige.",
		"Comment la position a été prise : cela dit de combien elle peut s'écarter.",
		"Hur positionen är bestämd: det säger hur mycket den kan avvika."},
	"position.uncertainty": {"In metres: the radius of the circle that holds the spot 95 times in 100.",
		"In Metern: der Radius des Kreises, in dem die Stelle 95-mal von 100 liegt.",
		"In meters: de straal van de cirkel waarin de plek 95 van de 100 keer ligt.",
		"I meter: radius af cirklen, som rummer stedet 95 gange ud af 100.",
		"En mètres : le rayon du cercle qui contient l'endroit 95 fois sur 100.",
		"I meter: radien på cirkeln som rymmer platsen 95 gånger av 100."},
	"place.country": {"A name or a code, such as England or GB-ENG.", "Name oder Kürzel, etwa Bayern oder DE-BY.",
		"Een naam of een code, zoals Vlaanderen of BE-VLG.", "Et navn eller en kode, som Danmark eller DK.",
		"Un nom ou un code, par exemple France ou FR.", "Ett namn eller en kod, till exempel Sverige eller SE."},
	"materials.1": {"What it is made of. Other words than those of the list are welcome: your words are kept.",
		"Woraus es besteht. Andere Worte als die der Liste sind willkommen: Ihre Worte bleiben erhalten.",
		"Waarvan het gemaakt is. Andere woorden dan die van de lijst zijn welkom: uw woorden blijven bewaard.",
		"Hvad det er lavet af. Andre ord end listens er velkomne: dine ord bevares.",
		"En quoi c'est fait. D'autres mots que ceux de la liste sont bienvenus : vos mots sont conservés.",
		"Vad det är gjort av. Andra ord än listans går bra: dina ord bevaras."},
	"count": {"How many objects this row stands for: 1, 12, 12+.",
		"Für wie viele Gegenstände diese Zeile steht: 1, 12, 12+.",
		"Voor hoeveel voorwerpen deze rij staat: 1, 12, 12+.", "Hvor mange genstande rækken står for: 1, 12, 12+.",
		"Combien d'objets cette ligne représente : 1, 12, 12+.", "Hur många föremål raden står för: 1, 12, 12+."},
	"finder": {"Who found it: a handle rather than a name if you pass the log on.",
		"Wer es gefunden hat: lieber ein Kürzel als ein Name, wenn Sie die Liste weitergeben.",
		"Wie het vond: liever een bijnaam dan een naam als u de lijst doorgeeft.",
		"Hvem der fandt det: hellere et kaldenavn end et navn, hvis du giver listen videre.",
		"Qui l'a trouvé : plutôt un pseudonyme qu'un nom si vous transmettez la liste.",
		"Vem som hittade det: hellre ett alias än ett namn om du lämnar listan vidare."},
	"permission": {"By whose leave: the name of the field or of the permission. Its terms go on the sheet Permissions.",
		"Mit wessen Erlaubnis: der Name des Feldes oder der Genehmigung. Die Bedingungen gehören auf das Blatt Permissions.",
		"Met wiens toestemming: de naam van het veld of van de toestemming. De voorwaarden horen op het blad Permissions.",
		"Med hvis tilladelse: navnet på marken eller tilladelsen. Vilkårene hører til på arket Permissions.",
		"Avec l'accord de qui : le nom du champ ou de l'autorisation. Ses conditions vont sur la feuille Permissions.",
		"Med vems tillstånd: namnet på fältet eller tillståndet. Villkoren hör hemma på bladet Permissions."},
	"marks.1.text": {"As read: [...] is lost, (?) is unsure, / is the end of a line.",
		"Wie gelesen: [...] ist verloren, (?) ist unsicher, / ist das Ende einer Zeile.",
		"Zoals gelezen: [...] is verloren, (?) is onzeker, / is het einde van een regel.",
		"Som læst: [...] er tabt, (?) er usikkert, / er slutningen af en linje.",
		"Tel que lu : [...] est perdu, (?) est incertain, / est la fin d'une ligne.",
		"Som läst: [...] är borta, (?) är osäkert, / är slutet på en rad."},
	"dating.verbatim": {"As you would say it: early 18th century, about 1350, before 1900.",
		"Wie man es sagt: frühes 18. Jahrhundert, um 1350, vor 1900.",
		"Zoals u het zou zeggen: vroege 18e eeuw, circa 1350, voor 1900.",
		"Som man siger det: tidligt 18. århundrede, ca. 1350, før 1900.",
		"Comme on le dit : début du 18e siècle, vers 1350, avant 1900.",
		"Så som man säger det: tidigt 1700-tal, ca 1350, före 1900."},
	"notes": {"Anything else. No names or addresses of others.", "Alles Übrige. Keine Namen oder Adressen anderer.",
		"Al het overige. Geen namen of adressen van anderen.", "Alt andet. Ingen navne eller adresser på andre.",
		"Tout le reste. Ni noms ni adresses d'autres personnes.", "Allt annat. Inga namn eller adresser till andra."},
}

// Help for the fields that have none of their own, by what they hold.
var (
	helpOpenList = inLanguages{"Choose from the list, or write your own words.",
		"Wählen Sie aus der Liste, oder schreiben Sie eigene Worte.",
		"Kies uit de lijst, of schrijf uw eigen woorden.", "Vælg fra listen, eller skriv dine egne ord.",
		"Choisissez dans la liste, ou écrivez vos propres mots.", "Välj ur listan, eller skriv egna ord."}
	helpClosedList = inLanguages{"Choose from the list.", "Wählen Sie aus der Liste.", "Kies uit de lijst.",
		"Vælg fra listen.",
		"Choisissez dans la liste.", "Välj ur listan."}
	helpQuantity = inLanguages{"As you know it: 23, 20-25, about 20. The unit is UNIT unless you write another.",
		"Wie Sie es wissen: 23, 20-25, etwa 20. Die Einheit ist UNIT, wenn Sie keine andere schreiben.",
		"Zoals u het weet: 23, 20-25, ongeveer 20. De eenheid is UNIT, tenzij u een andere schrijft.",
		"Som du kender det: 23, 20-25, ca. 20. Enheden er UNIT, medmindre du skriver en anden.",
		"Comme vous le savez : 23, 20-25, environ 20. L'unité est UNIT, sauf si vous en écrivez une autre.",
		"Så som du vet det: 23, 20-25, ca 20. Enheten är UNIT om du inte skriver en annan."}
	helpPicture = inLanguages{"The file of the picture, in a folder beside this one: pictures/7.jpg.",
		"Die Datei des Bildes, in einem Ordner neben dieser Datei: bilder/7.jpg.",
		"Het bestand van de foto, in een map naast dit bestand: fotos/7.jpg.",
		"Billedets fil, i en mappe ved siden af denne fil: billeder/7.jpg.",
		"Le fichier de la photo, dans un dossier à côté de celui-ci : photos/7.jpg.",
		"Bildens fil, i en mapp bredvid den här filen: bilder/7.jpg."}
	helpPrivate = inLanguages{"Private: not in copies for the public.", "Privat: nicht in Kopien für die Öffentlichkeit.",
		"Privé: niet in kopieën voor het publiek.", "Privat: ikke i kopier til offentligheden.",
		"Privé : absent des copies pour le public.", "Privat: inte i kopior för allmänheten."}
	helpWords = inLanguages{"In your own words.", "In eigenen Worten.", "In uw eigen woorden.", "Med dine egne ord.",
		"Avec vos propres mots.", "Med egna ord."}
)

// helpFor returns what is shown at the cells of a field.
func helpFor(f find.Field, name, unit, language string) string {
	text, ok := help[name]
	scheme := vocabulary.Get(f.List)
	switch {
	case ok:
	case scheme != nil && scheme.Open:
		text = helpOpenList
	case scheme != nil:
		text = helpClosedList
	case f.Kind == find.QuantityText:
		text = helpQuantity
	case strings.HasPrefix(name, "media."):
		text = helpPicture
	case name == "storagePlace" || name == "value":
		text = helpPrivate
	default:
		text = helpWords
	}
	return strings.ReplaceAll(text.in(language), "UNIT", unit)
}
