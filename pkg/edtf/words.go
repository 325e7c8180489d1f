package edtf

import "strings"

// class is what a word does in a written date.
type class uint8

const (
	noClass        class = iota
	monthWord            // arg 1 to 12
	weekdayWord          // arg 0 for Monday to 6
	seasonWord           // arg 21 to 24
	approxWord           // about
	unsureWord           // probably
	centuryWord          // century
	endingWord           // the ending of an ordinal: th, e, ste
	decadeWord           // the ending of a decade: s, er, erne
	hundredsWord         // Danish and Swedish endings: tallet, talet, tal
	ordinalWord          // arg 1 to 21, or -1 for last
	thirdWord            // arg early, middle, late
	fractionWord         // arg 2 for halves, 3, 4
	turnWord             // turn of, arg 1 where the word says century too
	beforeWord           // before
	afterWord            // after
	untilWord            // until, up to
	sinceWord            // since
	betweenWord          // between
	toWord               // to, as far as
	andWord              // and
	orWord               // or
	laterWord            // onwards, later
	earlierWord          // earlier
	eraWord              // arg -1 BC, +1 AD, alone
	christWord           // half of v. Chr., f.Kr. and their like
	fillerWord           // the, of, dated
	yearWord             // year, anno
	eventWord            // arg made, used, lost
	periodWord           // Roman; arg 1 for a war
	periodTailWord       // age, period: belongs to a period word; arg 1 for a war
	periodHeadWord       // high, post: in front of a period word only
	reignWord            // reign
	timeWord             // at, kl
	noWord               // not
	thanWord             // than
)

// word is an entry of the word list.
type word struct {
	class class
	arg   int8
}

// Arguments of thirdWord.
const (
	early = iota
	middle
	late
)

// Arguments of sinceWord: a word that leaves the end open, one that does so
// only where no end is named, and one that is "of" without an end.
const (
	since = iota
	from
	of
)

// Arguments of eventWord, and the words that [Dating] returns for them.
const (
	made = iota
	used
	lost
)

var eventNames = [...]string{"made", "used", "lost"}

// words holds every word that is understood, folded to lower case without
// accents. Words of several meanings are told apart by where they stand.
var words = buildTable(buildWords())

// wordTable finds a word by its folded letters; open addressing, never full.
type wordTable [4096]struct {
	name string
	word word
}

func buildTable(list map[string]word) *wordTable {
	t := new(wordTable)
	for name, w := range list {
		i := hashWord([]byte(name))
		for t[i].name != "" {
			i = (i + 1) % uint32(len(t))
		}
		t[i].name, t[i].word = name, w
	}
	return t
}

// hashWord is FNV-1a, folded to the size of the table.
func hashWord(w []byte) uint32 {
	h := uint32(2166136261)
	for _, c := range w {
		h = (h ^ uint32(c)) * 16777619
	}
	return (h ^ h>>15) % uint32(len(wordTable{}))
}

func (t *wordTable) find(w []byte) (word, bool) {
	for i := hashWord(w); t[i].name != ""; i = (i + 1) % uint32(len(t)) {
		if t[i].name == string(w) {
			return t[i].word, true
		}
	}
	return word{}, false
}

func buildWords() map[string]word {
	list := make(map[string]word, 1000)
	add := func(c class, arg int, text string) {
		for _, w := range strings.Fields(text) {
			list[w] = word{c, int8(arg)}
		}
	}
	for i, names := range periodLists {
		add([]class{periodWord, periodTailWord, periodHeadWord, reignWord}[i], 0, names)
	}
	add(periodWord, 1, warWords[0])
	add(periodTailWord, 1, warWords[1])
	for i, names := range monthNames {
		add(monthWord, i+1, names)
	}
	for i, names := range weekdayNames {
		add(weekdayWord, i, names)
	}
	for i, names := range seasonNames {
		add(seasonWord, 21+i, names)
	}
	for i, names := range ordinalNames {
		add(ordinalWord, i+1, names)
	}
	for _, entry := range otherWords {
		add(entry.class, entry.arg, entry.names)
	}
	return list
}

// Months in English, German, Dutch, French, Danish and Swedish, whole and
// short. Forms of several languages stand once.
var monthNames = [12]string{
	"january jan januar janner jaenner januari janvier janv",
	"february feb febr februar feber februari fevrier fevr fev",
	"march mar marz maerz mrz maart mrt mars marts",
	"april apr avril avr",
	"may mai mei maj",
	"june jun juni juin",
	"july jul juli juillet juil",
	"august aug augustus augusti aout",
	"september sep sept septembre",
	"october oct oktober okt octobre",
	"november nov novembre",
	"december dec dezember dez decembre",
}

// Days of the week, from Monday, in the six languages.
var weekdayNames = [7]string{
	"monday mon montag mo maandag ma lundi lun mandag man mandagen",
	"tuesday tue tues dienstag dinsdag di mardi tirsdag tir tisdag tis tisdagen",
	"wednesday wed mittwoch woensdag wo mercredi mer onsdag ons onsdagen",
	"thursday thu thur thurs donnerstag do donderdag jeudi jeu torsdag tor tors torsdagen",
	"friday fri freitag fr vrijdag vr vendredi ven fredag fre fredagen",
	"saturday sat samstag sa sonnabend zaterdag za samedi sam lordag lor loerdag lordagen lor",
	"sunday sun sonntag so zondag zo dimanche dim sondag son soendag sondagen",
}

var seasonNames = [4]string{
	"spring fruhling fruehling fruhjahr fruehjahr voorjaar lente printemps forar foraar foraret var varen",
	"summer sommer zomer ete sommar sommaren sommeren",
	"autumn fall herbst herfst najaar automne efterar efteraar efteraret host hosten",
	"winter hiver vinter vintern vinteren",
}

var ordinalNames = [21]string{
	"first erste ersten erstes erster eerste premier premiere forste foerste forsta",
	"second zweite zweiten zweites zweiter tweede deuxieme seconde anden andet andra",
	"third dritte dritten drittes dritter derde troisieme tredje",
	"fourth vierte vierten viertes vierter vierde quatrieme fjerde fjarde",
	"fifth funfte funften funftes vijfde cinquieme femte",
	"sixth sechste sechsten sechstes zesde sixieme sjette sjatte",
	"seventh siebte siebten siebtes zevende septieme syvende sjunde",
	"eighth achte achten achtes achtste huitieme ottende attonde",
	"ninth neunte neunten neuntes negende neuvieme niende nionde",
	"tenth zehnte zehnten zehntes tiende dixieme tionde",
	"eleventh elfte elften elftes elfde onzieme ellevte",
	"twelfth zwolfte zwolften zwolftes twaalfde douzieme tolvte tolfte",
	"thirteenth dreizehnte dreizehnten dreizehntes dertiende treizieme trettende trettonde",
	"fourteenth vierzehnte vierzehnten vierzehntes veertiende quatorzieme fjortende fjortonde",
	"fifteenth funfzehnte funfzehnten funfzehntes vijftiende quinzieme femtende femtonde",
	"sixteenth sechzehnte sechzehnten sechzehntes zestiende seizieme sekstende sextonde",
	"seventeenth siebzehnte siebzehnten siebzehntes zeventiende syttende sjuttonde",
	"eighteenth achtzehnte achtzehnten achtzehntes achttiende attende adertonde artonde",
	"nineteenth neunzehnte neunzehnten neunzehntes negentiende nittende nittonde",
	"twentieth zwanzigste zwanzigsten zwanzigstes twintigste vingtieme tyvende tjugonde",
	"",
}

// otherWords are the small words around dates, folded, in the six languages.
var otherWords = []struct {
	class class
	arg   int
	names string
}{
	{approxWord, 0, `c ca cca circa cirka zirka about abt around approx approximately roughly nearly
		um gegen tegen etwa ungefahr rund ongeveer omstreeks rond vers environ env autour omkring omkr
		runt ungefar`},
	{unsureWord, 0, `probably prob possibly poss perhaps maybe likely presumably uncertain unsure
		wahrscheinlich wohl vermutlich vielleicht moglicherweise evtl eventuell waarschijnlijk
		wrsch misschien mogelijk wellicht vermoedelijk probablement probable peut possible
		possiblement sandsynligvis formentlig maske maaske muligvis mulig troligen troligtvis
		mojligen kanske antagligen sannolikt`},
	{centuryWord, 0, `century centuries cent jahrhundert jahrhunderts jahrhunderte jahrhunderten
		jh jhs jhd jhdt jhdts jhts eeuw eeuwen eeuws siecle siecles arhundrede aarhundrede arhundredet
		arhundreder arh aarh arhundrade arhundradet arhundraden sekel seklet sekler`},
	{centuryWord, 1, `millennium millennia millenium jahrtausend jahrtausends jt millenaire artusinde artusindet
		aartusinde artusende artusendet`},
	{endingWord, 0, "st nd rd th e de ste eme ieme emes er ere re nde a te"},
	{decadeWord, 0, "s erne ers ties"},
	{hundredsWord, 0, `tal tallet tallets talet talets taller`},
	{ordinalWord, -1, `last letzte letzten letztes letzter laatste dernier derniere sidste sista`},
	{thirdWord, early, `early begin beginning start fruh fruhes fruhe fruhen frueh fruehes
		fruehe fruehen anfang beginn vroeg vroege aanvang debut tidlig tidlige tidligt begyndelsen
		begyndelse tidig tidiga tidigt borjan`},
	{thirdWord, middle, `mid middle mitte mittleres midden medio milieu mi midt midten mitten`},
	{thirdWord, late, `late latter end spat spates spate spaten spaet spaetes spaete spaeten ende
		laat late eind einde fin sen sene sent sena slutningen slutning slut slutet`},
	{fractionWord, 2, "half halves halfte haelfte helft moitie halvdel halvdelen halften halvan"},
	{fractionWord, 3, "thirds drittel tiers tredjedel tredjedelen"},
	{fractionWord, 4, "quarter quarters viertel kwart quart fjerdedel fjardedel fjardedelen kvart kvartal"},
	{turnWord, 0, "turn wende wisseling tournant overgangen skiftet"},
	{turnWord, 1, `jahrhundertwende eeuwwisseling arhundredskiftet arhundredeskiftet aarhundredskiftet
		sekelskiftet`},
	{beforeWord, 0, `before pre predates vor voor avant for foer fore innan inden ante`},
	{afterWord, 0, `after post postdates nach na apres efter`},
	{untilWord, 0, `until til till up by bis spatestens spaetestens tot uiterlijk jusqu indtil senest senast`},
	{sinceWord, since, `since ab seit fruhestens fruehestens vanaf sinds depuis partir tidligst tidigast`},
	{sinceWord, from, "from fra fran"},
	{sinceWord, of, "von vom van du des"},
	{betweenWord, 0, "between zwischen tussen entre mellem mellan"},
	{toWord, 0, "to through thru zum au"},
	{andWord, 0, "and und en et og och"},
	{orWord, 0, "or oder ou eller of"},
	{laterWord, 0, `onwards onward later spater spaeter tard senere senare plus`},
	{earlierWord, 0, `earlier fruher frueher eerder vroeger tidligere tidigare`},
	{eraWord, -1, "bc bce vchr avjc fkr fvt fvtr vuz"},
	{eraWord, +1, "ad ce nchr apjc ekr evt evtr nuz"},
	{christWord, 0, "chr christus christi christ kr kristus kristi jc jesus u"},
	{fillerWord, 0, `the in it its der die das den dem im am aus dates dating dated date datable
		datiert datierung datering gedateerd het uit la le les l datee dateret daterad af av i det
		d dans`},
	{noWord, 0, "not no nicht niet pas ikke inte ej"},
	{thanWord, 0, "than als dan que"},
	{yearWord, 0, "year years anno jahr jahre jahren jaar annee ans an ar aar aret arene aren"},
	{approxWord, 0, "ish"},
	{sinceWord, since, "partir"},
	{fillerWord, 0, "fram weekend weekenden weekendet helgen"},
	{yearWord, 1, "jaren annees"}, // of a decade
	{eventWord, made, `made manufactured produced struck minted cast crafted hergestellt gepragt
		gegossen gefertigt gemaakt geslagen vervaardigd gegoten fabrique fabriquee frappe frappee
		fremstillet praeget slaet stobt tillverkad tillverkat praglad slagen gjuten`},
	{eventWord, used, `used worn use benutzt gebraucht verwendet getragen gebruikt gedragen utilise
		utilisee porte portee brugt anvendt anvand anvant buren`},
	{eventWord, lost, `lost dropped deposited buried discarded verloren vergraben deponiert
		verlegt begraven perdu perdue enfoui enfouie depose tabt nedlagt tappad tappat forlorad
		nedlagd`},
	{timeWord, 0, "at kl klokken klockan uhr uur h om"},
}
