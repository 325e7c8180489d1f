package quantity

import "strings"

func fields(s string) []string { return strings.Fields(s) }

// decomposed writes ä, ö, ü as a letter and a combining diaeresis, the form in
// which some systems store them.
func decomposed(s string) string {
	if !strings.ContainsAny(s, "äöü") {
		return s
	}
	return apart.Replace(s)
}

var apart = strings.NewReplacer("ä", "a\u0308", "ö", "o\u0308", "ü", "u\u0308")

// A counting names the numbers of a language: those below twenty in order,
// then the tens from twenty to ninety. Other spellings are parted by a bar.
type counting struct {
	small string
	tens  string
	// joint stands between unit and ten where the unit comes first
	// (fünfundzwanzig); where the ten comes first it is empty and units follow
	// it directly (tjugofem).
	joint    []string
	tenFirst bool
}

var countings = []counting{
	{ // English; twenty-five and twenty five are joined by the grammar
		small:    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen",
		tens:     "twenty thirty forty|fourty fifty sixty seventy eighty ninety",
		tenFirst: true,
	},
	{ // German
		small: "null eins|ein zwei|zwo drei vier fünf|fuenf sechs sieben acht neun zehn elf zwölf|zwoelf dreizehn vierzehn fünfzehn|fuenfzehn sechzehn siebzehn achtzehn neunzehn",
		tens:  "zwanzig dreißig|dreissig vierzig fünfzig|fuenfzig sechzig siebzig achtzig neunzig",
		joint: []string{"und"},
	},
	{ // Dutch
		small: "nul een|één twee drie vier vijf zes zeven acht negen tien elf twaalf dertien veertien vijftien zestien zeventien achttien negentien",
		tens:  "twintig dertig veertig vijftig zestig zeventig tachtig negentig",
		joint: []string{"en", "ën"},
	},
	{ // French; 70 to 99 beyond the tens are added below
		small:    "zéro un|une deux trois quatre cinq six sept huit neuf dix onze douze treize quatorze quinze seize dix-sept dix-huit dix-neuf",
		tens:     "vingt|vingts trente quarante cinquante soixante septante huitante|octante nonante",
		tenFirst: true,
	},
	{ // Danish
		small: "nul en|et|én|ét to tre fire fem seks syv otte ni ti elleve|elve tolv tretten fjorten femten seksten sytten atten nitten",
		tens:  "tyve tredive fyrre halvtreds tres halvfjerds firs halvfems",
		joint: []string{"og"},
	},
	{ // Swedish
		small:    "noll ett|en två|tva tre fyra fem sex sju åtta|atta nio tio elva tolv tretton fjorton femton sexton sjutton arton nitton",
		tens:     "tjugo trettio fyrtio femtio sextio sjuttio åttio|attio nittio",
		tenFirst: true,
	},
}

// addNumberWords adds the numbers from nought to ninety-nine, and the words
// for one and a half, two and a half and so on that are written as one.
func addNumberWords(add func(string, word)) {
	for _, c := range countings {
		small := fields(c.small)
		for i, names := range small {
			for _, name := range strings.Split(names, "|") {
				add(name, word{is: wNumber, num: uint16(i), den: 1})
			}
		}
		for i, names := range fields(c.tens) {
			ten := uint16(i+2) * 10
			for _, name := range strings.Split(names, "|") {
				add(name, word{is: wNumber | wTens, num: ten, den: 1})
				for u := 1; u < 10; u++ {
					for _, unit := range strings.Split(small[u], "|") {
						w := word{is: wNumber, num: ten + uint16(u), den: 1}
						if c.tenFirst {
							add(name+unit, w)
						}
						for _, j := range c.joint {
							add(unit+j+name, w)
						}
					}
				}
			}
		}
	}
	halves := []struct {
		twice int
		words string
	}{
		{3, "anderthalb anderthalbe eineinhalb einundeinhalb anderhalf anderhalve halvanden halvandet halvannan halvannen"},
		{5, "zweieinhalb zweiundeinhalb tweeëneenhalf tweeëneenhalve tweeënhalf tweeënhalve"},
		{7, "dreieinhalb dreiundeinhalb drieëneenhalf drieëneenhalve drieënhalf"},
		{9, "viereinhalb vierundeinhalb viereneenhalf vierenhalf"},
		{11, "fünfeinhalb fünfundeinhalb vijfeneenhalf vijfenhalf"},
		{13, "sechseinhalb sechsundeinhalb zeseneenhalf zesenhalf"},
		{15, "siebeneinhalb siebenundeinhalb zeveneneenhalf zevenenhalf"},
		{17, "achteinhalb achtundeinhalb achteneenhalf achtenhalf"},
		{19, "neuneinhalb neunundeinhalb negeneneenhalf negenenhalf"},
		{21, "zehneinhalb tieneneenhalf"},
	}
	for _, h := range halves {
		add(h.words, word{is: wNumber, num: uint16(h.twice), den: 2})
	}
	for name, n := range map[string]uint16{"dizaine": 10, "quinzaine": 15, "vingtaine": 20, "trentaine": 30, "quarantaine": 40, "cinquantaine": 50, "centaine": 100,
		"tiental": 10, "twintigtal": 20, "dertigtal": 30, "tiotal": 10, "tjugotal": 20} {
		add(name, word{is: wNumber, num: n, den: 1})
	}
	add("dreiviertel driekwart", word{is: wNumber, num: 3, den: 4})
}
