package quantity

import "sync"

// A word is what one written word can mean; which of its meanings holds is
// for the grammar, by the place it stands in.
type word struct {
	is   meaning
	unit Unit
	num  uint16 // value of a number word: num/den
	den  uint16
}

type meaning uint64

const (
	wNumber     meaning = 1 << iota // ten, zehn, dix
	wArticle                        // a, an, ein, une: one
	wHalf                           // half
	wQuarter                        // quarter
	wEighth                         // eighth
	wThird                          // third
	wTens                           // twenty: may be joined with a number below ten
	wHundred                        // hundred
	wUnit                           // a unit of the list
	wUnlisted                       // a unit that is not in the list
	wGrain                          // gr: grain or gram
	wTroy                           // troy, of an ounce
	wRange                          // to, bis, à
	wOr                             // or, oder
	wAnd                            // and, und
	wOver                           // over, above
	wUnder                          // under, below
	wMore                           // more, before than
	wLess                           // less, before than
	wThan                           // than
	wNot                            // not, before more than
	wAt                             // at, before least and most
	wLeast                          // least
	wMost                           // most
	wAtLeast                        // minimum
	wAtMost                         // maximum
	wUp                             // up, before to
	wApprox                         // about
	wIsh                            // -ish
	wSo                             // so, after or
	wBetween                        // between
	wFrom                           // from
	wOf                             // of
	wNoise                          // deep, long: names the measure
	wBelow                          // below, before surface
	wSurface                        // surface
	wJust                           // just, slightly, before over and under
	wNearly                         // nearly, almost
	wMonth                          // Sep
	wVague                          // several, a few
	wPiece                          // pieces, Stück
	wDozen                          // dozen
	wPair                           // pair
	wTimes                          // x
	wPlus                           // plus
	wMinus                          // minus
	wThe                            // the
	wUncertain                      // perhaps, maybe
	wAvoir                          // avoirdupois, of an ounce, pound or dram
	wApothecary                     // apothecaries', of a dram or scruple
	wMetric                         // metric, of a carat or tonne
	wSurvey                         // survey, of a foot
	wCountry                        // US, before survey
	wOther                          // a unit beyond the list that means one thing
	wCarat                          // carat: of a stone, or the fineness of gold
	wDram                           // dram
	wLine                           // line
	wMil                            // mil
	wLayer                          // topsoil: a layer of the ground
	wTop                            // the top, of some inches
	wRound                          // dizaine: about ten
	wVagueDepth                     // shallow, deep
)

func (t *token) is(m meaning) bool { return t.kind == kWord && t.word.is&m != 0 }

// meanings lists the words of the six languages by what they mean. A word may
// stand in several lists.
var meanings = []struct {
	is    meaning
	words string
}{
	{wArticle, "a an ein eine einen einem einer eines d'un d'une een 'n un une en et ett één én"},
	{wHalf, "half halb halbe halber halbes halben halve demi demie halv halvt halva halvan halfs"},
	{wQuarter, "quarter quarters viertel kwart quart quarts kvart fjerdedel fjärdedel fjerdedele fjärdedelar"},
	{wEighth, "eighth eighths achtel achtste huitième huitièmes ottendedel ottendedele åttondel åttondelar"},
	{wThird, "third thirds drittel tiers tredjedel tredjedele tredjedelar"},
	{wHundred, "hundred hundert honderd cent hundrede hundra"},
	{wRange, "to till until through thru bis tot à a til t.o.m"},
	{wOr, "or oder of ou eller"},
	{wAnd, "and und en et og och but aber maar mais men"},
	{wOver, "over above beyond exceeding exceeds über ueber boven over över gut ruim dryga drygt godt good"},
	{wUnder, "under below unter onder sous beneath"},
	{wMore, "more greater deeper longer heavier mehr tiefer meer dieper plus mere dybere mer djupare"},
	{wLess, "less fewer smaller shallower lighter weniger minder moins mindre"},
	{wThan, "than als dan de que end än d'un d'une"},
	{wNot, "not no nicht niet pas ikke inte"},
	{wAt, "at au ten à i på auf bei op"},
	{wLeast, "least minste moins mindst minst"},
	{wMost, "most hoogste plus højst højest mest högst"},
	{wAtLeast, "min minimum minimal mindestens wenigstens minstens tenminste minimaal mindst minst mind"},
	{wAtMost, "max maximum maximal maximaal höchstens hoechstens hoogstens jusqu'à jusqu'a højst höjst högst maks maks within binnen innerhalb inden"},
	{wUp, "up bis op upp zu"},
	{wApprox, "about abt around approx approximately approximate c ca circa cca roughly say some estimated est etwa ungefähr ungefaehr zirka rund " +
		"ongeveer omstreeks ruwweg plusminus plm environ env vers près approximativement cirka omkring omtrent ungefær ungefär omkr runt geschätzt schätzungsweise geschat schatting estimé estimée anslået skønnet uppskattat uppskattad uppskattningsvis zo'n peine barely kaum nauwelijks vel guesstimate guessed"},
	{wIsh, "ish"},
	{wSo, "so thereabouts"},
	{wBetween, "between betw zwischen tussen entre mellem mellan"},
	{wFrom, "from von van de fra från somewhere"},
	{wOf, "of de d'un d'une von van af av"},
	{wNoise, "deep down depth depths deeply tief tiefe diep diepte profond profonde profondeur dyb dybt dybde djup djupt djupet long length lang länge laenge lengte " +
		"longueur længde længd längd wide width breit breite breed breedte large largeur bred bredde bredd high height hoch höhe hoog hoogte haut hauteur høj højde hög höjd " +
		"thick thickness dick dicke dik dikte épais épaisse épaisseur tyk tykkelse tjock tjocklek diameter diam dia durchmesser diamètre ø across " +
		"weight weighs gewicht poids vægt vikt weighing size fundtiefe vondstdiepte funddybde fynddjup prof ned nede ner nere measured gemessen gemeten mesuré mesurée målt mätt uppmätt total altogether insgesamt zusammen totaal totalt"},
	{wBelow, "below under beneath from unter onder sous underneath du från fra van von de la der het den die u"},
	{wSurface, "surface oberfläche oppervlakte oppervlak maaiveld overfladen ytan ground surfaces terræn terrän marken markytan gok oberkante geländeoberkante maaiveld mv sol level grass"},
	{wJust, "just slightly bit little etwas peu lidt lite iets beetje gut ruim dryga drygt godt good"},
	{wNearly, "nearly almost knapp knapt knappt krap fast bijna presque næsten nästan knap"},
	{wVague, "several few couple many some lots numerous handful einige mehrere paar enkele quelques plusieurs nogle flere några flera"},
	{wTop, "top upper first obersten oberen bovenste eerste øverste översta"},
	{wRound, "dizaine quinzaine vingtaine trentaine quarantaine cinquantaine centaine tiental twintigtal dertigtal tiotal tjugotal"},
	{wVagueDepth, "shallow shallowish deep deepish flach seicht tief ondiep undiep diep profond profonde dyb dybt grund grunt djup djupt overfladisk ytlig ytligt oberflächennah"},
	{wLayer, "plough ploughsoil ploughzone plow plowsoil plowzone topsoil top-soil subsoil humus turf sod bouwvoor teelaarde teellaag zode zodenlaag maaiveldlaag " +
		"oberboden unterboden mutterboden ackerkrume ackerboden pflugschicht pflughorizont pflugzone pflugsohle humusschicht grasnarbe labour labours labouré labourée arable " +
		"humifère gazon pløjelag pløjelaget pløjejord pløjelags muld muldlag muldlaget grønsvær råjord matjord matjorden ploglager ploglagret ploggången alv alven torv grästorv " +
		"soil layer schicht laag couche lag lager boden jord"},
	{wPiece, "pc pcs piece pieces off item items object objects stück stueck stk st stuks stuk pièce pièces stykker stykke styk stycken stycke finds " +
		"fragments fragment balls ball coins coin buttons button no nr number qty total"},
	{wDozen, "dozen doz dutzend dozijn douzaine dusin dussin"},
	{wPair, "pair paar paire par"},
	{wTimes, "x"},
	{wPlus, "plus"},
	{wMinus, "minus"},
	{wThe, "the le la les der die das den het det"},
	{wUncertain, "perhaps maybe possibly probably prob poss vielleicht wohl misschien peut-être måske kanske"},
	{wAvoir, "avoirdupois avdp av"},
	{wTroy, "troy tr t troi"},
	{wGrain, "gr grs"},
	{wMonth, "jan january januar januari janvier janv feb february februar februari février févr mar march märz mär mrz maart mars marts mrt apr april avril avr may mai mei maj " +
		"jun june juni juin jul july juli juillet juil aug august augustus août augusti sep sept september septembre oct october oktober octobre okt " +
		"nov november novembre dec december dezember dez décembre déc"},
	{wApothecary, "ap apoth apothecary apothecaries apothecary's"},
	{wMetric, "metric"},
	{wSurvey, "survey"},
	{wCountry, "us u.s usa american"},
	{wCarat, "carat carats ct cts karat karaat"},
	{wDram, "dram drams dr drachm drachms"},
	{wLine, "line lines ligne lignes linie linien"},
	{wMil, "mil mils"},
	{wUnlisted, "hm hand hands span spade spades spit spits grad degree degrees " +
		"ton tons cwt ons pfund pond livre livres zentner quintal pund skålpund lod lot lood finger fingers handbreit handbreedte håndsbred handsbredd spatenstich spatenstiche spatentief spatentiefe spadesteek spadestik spadestiks spadtag spadtags steek steken bêche coup"},
}

// unitWords lists the words for each unit.
var unitWords = []struct {
	unit  Unit
	words string
}{
	{MM, "mm mms millimetre millimetres millimeter millimeters millimètre millimètres millimetern"},
	{CM, "cm cms centimetre centimetres centimeter centimeters centimètre centimètres zentimeter zentimetern ctm centi centis"},
	{M, "m metre metres meter meters mètre mètres metern mtr mtrs"},
	{IN, "in ins inch inches inchs inces inche zoll duim duimen pouce pouces po tomme tommer tum"},
	{FT, "ft foot feet fuß fuss voet voeten pied pieds fod fødder fot"},
	{YD, "yd yds yard yards yarden"},
	{MG, "mg mgs milligram milligrams milligramme milligrammes milligramm milligrammen"},
	{G, "g gm gms gram grams gramme grammes gramm grammen grammer grm grms"},
	{KG, "kg kgs kilo kilos kilogram kilograms kilogramme kilogrammes kilogramm kilogrammen"},
	{GR, "grain grains"},
	{OZ, "oz ozs ounce ounces unze unzen once onces unse unser uns"},
	{OZT, "ozt toz feinunze feinunzen"},
	{DWT, "dwt dwts pennyweight pennyweights pwt"},
	{LB, "lb lbs pound pounds"},
}

// otherWords lists the words for the units beyond the list that mean one thing only.
var otherWords = []struct {
	unit  Unit
	words string
}{
	{micrometre, "µm micrometre micrometres micrometer micrometers micron microns"},
	{decimetre, "dm decimetre decimetres decimeter decimeters dezimeter dezimetern décimètre décimètres"},
	{kilometre, "km kms kilometre kilometres kilometer kilometers kilometern kilomètre kilomètres"},
	{thou, "thou"},
	{fathom, "fathom fathoms"},
	{chain, "chain chains"},
	{furlong, "furlong furlongs"},
	{mile, "mi mile miles"},
	{microgram, "µg mcg microgram micrograms microgramme microgrammes mikrogramm"},
	{decagram, "dkg dag decagram decagrams dekagramm deka"},
	{hectogram, "hg hecto hekto hectogram hectograms hektogram"},
	{tonne, "tonne tonnes"},
	{scruple, "scruple scruples"},
	{stone, "stone stones"},
}

// words returns the table by folded word, made when the first word is read.
var words = sync.OnceValue(buildWords)

func buildWords() map[string]word {
	table := make(map[string]word, 2000)
	add := func(text string, w word) {
		for _, name := range fields(text) {
			have := table[name]
			have.is |= w.is
			if w.unit != NoUnit {
				have.unit = w.unit
			}
			if w.den != 0 {
				have.num, have.den = w.num, w.den
			}
			table[name] = have
			// ü as u and a combining mark
			if plain := decomposed(name); plain != name {
				table[plain] = have
			}
		}
	}
	for _, m := range meanings {
		add(m.words, word{is: m.is})
	}
	for _, u := range unitWords {
		add(u.words, word{is: wUnit, unit: u.unit})
	}
	for _, u := range otherWords {
		add(u.words, word{is: wOther, unit: u.unit})
	}
	addNumberWords(add)
	return table
}
