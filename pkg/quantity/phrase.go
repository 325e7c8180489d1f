package quantity

import (
	"sync"
	"unicode/utf8"
)

// The reasons that Reading.Absent gives; they are absence reasons of the format.
const (
	NotNoted      = "not-noted"
	NotMeasured   = "not-measured"
	NotKnown      = "not-known"
	Illegible     = "illegible"
	NotApplicable = "not-applicable"
)

// BasisSurface is the Reading.Basis of a find that lay on the surface.
const BasisSurface = "surface"

// phrases lists whole texts, folded: letters in lower case, runs of other
// signs one blank. Texts without a letter stand in wordless.
var phrases = []struct {
	means string
	texts []string
}{
	{NotNoted, []string{
		"unknown", "n a", "na", "none", "nothing", "nothing noted", "not noted", "not recorded", "not given", "not stated", "unrecorded", "no record", "no data", "no depth", "no entry", "tbc", "tbd", "null", "nan", "missing",
		"unbekannt", "nicht notiert", "nicht erfasst", "nicht vermerkt", "nicht angegeben", "keine angabe", "keine angaben", "k a", "o a", "ohne angabe",
		"onbekend", "niet genoteerd", "niet vermeld", "niet opgegeven", "geen opgave", "nvt onbekend", "geen",
		"inconnu", "inconnue", "non noté", "non notée", "non renseigné", "non renseignée", "non indiqué", "non indiquée", "néant",
		"ukendt", "ikke noteret", "ikke angivet", "ikke oplyst", "ingen",
		"okänd", "okänt", "ej noterat", "ej noterad", "inte noterat", "ej angivet", "ej angiven", "uppgift saknas", "inga uppgifter",
	}},
	{NotMeasured, []string{
		"not measured", "unmeasured", "not taken", "not weighed", "unweighed", "didn't measure", "did not measure", "not yet measured", "not yet weighed", "forgot to measure",
		"nicht gemessen", "nicht gewogen", "ungemessen", "niet gemeten", "niet gewogen", "non mesuré", "non mesurée", "pas mesuré", "pas mesurée", "non pesé", "non pesée",
		"ikke målt", "ikke vejet", "ej mätt", "inte mätt", "ej uppmätt", "omätt", "ej vägd", "ej vägt", "inte vägd", "inte vägt",
	}},
	{NotKnown, []string{
		"not known", "don't know", "do not know", "dont know", "can't remember", "cannot remember", "can't recall", "forgotten", "forgot", "no idea", "not sure", "unsure", "uncertain",
		"nicht bekannt", "weiß nicht", "weiss nicht", "weiß ich nicht", "vergessen", "unklar", "niet bekend", "weet niet", "weet ik niet", "vergeten",
		"pas connu", "pas connue", "non connu", "non connue", "ne sais pas", "je ne sais pas", "oublié", "oubliée", "ikke kendt", "ved ikke", "glemt", "vides ikke",
		"ej känd", "ej känt", "inte känd", "inte känt", "vet ej", "vet inte", "glömt",
	}},
	{Illegible, []string{
		"illegible", "unreadable", "not legible", "can't read", "cannot read", "unleserlich", "nicht lesbar", "unlesbar", "onleesbaar", "niet leesbaar", "illisible", "pas lisible", "non lisible",
		"ulæselig", "ulæseligt", "ikke læselig", "ikke læseligt", "oläslig", "oläsligt", "ej läslig", "ej läsligt", "smudged", "smeared",
	}},
	{NotApplicable, []string{
		"not applicable", "does not apply", "entfällt", "nicht zutreffend", "niet van toepassing", "nvt", "n v t", "sans objet", "non applicable", "ikke relevant", "ej tillämpligt", "ej tillämplig", "inte tillämpligt",
	}},
	{BasisSurface, []string{
		"surface", "surface find", "surface finds", "on surface", "on the surface", "at surface", "at the surface", "lying on surface", "lying on the surface", "just on the surface", "on top", "on the top", "lying on top", "on top of the ground", "on the ground",
		"oberfläche", "oberflächenfund", "an der oberfläche", "auf der oberfläche", "oben auf", "obenauf", "oberflächlich", "lesefund",
		"oppervlak", "oppervlakte", "oppervlaktevondst", "aan de oppervlakte", "aan het oppervlak", "op het oppervlak", "op de oppervlakte", "bovenop", "aan de oppervlak",
		"en surface", "à la surface", "a la surface", "sur la surface", "de surface", "au sol",
		"overflade", "overfladen", "på overfladen", "i overfladen", "overfladefund", "ovenpå", "øverst",
		"yta", "ytan", "på ytan", "i ytan", "ytfynd", "ovanpå", "överst",
	}},
}

// wordless lists texts without a letter or digit.
var wordless = map[string]string{
	"-": NotNoted, "--": NotNoted, "---": NotNoted, "/": NotNoted, ".": NotNoted, "..": NotNoted, "...": NotNoted, "…": NotNoted, "*": NotNoted, "_": NotNoted, "n/a": NotNoted,
	"?": NotKnown, "??": NotKnown, "???": NotKnown, "(?)": NotKnown,
}

// phraseTable returns the phrases by their folded text, made when the first is looked for.
var phraseTable = sync.OnceValue(func() map[string]string {
	table := make(map[string]string, 256)
	for _, p := range phrases {
		for _, text := range p.texts {
			table[text] = p.means
			table[decomposed(text)] = p.means
		}
	}
	return table
})

// phrase reads a text that states no number: an absence, or the surface.
func phrase(s string, d Dimension, into Unit) (Reading, bool) {
	var buf [64]byte
	n, letters, digits := 0, false, false
	for i := 0; i < len(s); {
		c, size := rune(s[i]), 1
		if c >= utf8.RuneSelf {
			c, size = utf8.DecodeRuneInString(s[i:])
			c = foldRune(c)
		}
		i += size
		letter := isLetter(c) || c == combining
		if c == '\'' && letters && n > 0 && buf[n-1] != ' ' {
			letter = true
		}
		switch {
		case letter:
			letters = true
			if c <= 'Z' && c >= 'A' {
				c += 'a' - 'A'
			} else if c >= utf8.RuneSelf {
				c = lowerRune(c)
			}
		case c >= '0' && c <= '9':
			digits = true
		case c == 0:
			continue
		case letters || c == ' ':
			if n == 0 || buf[n-1] == ' ' {
				continue
			}
			c = ' '
		}
		if digits || n+utf8.UTFMax > len(buf) {
			return Reading{}, false
		}
		n += utf8.EncodeRune(buf[n:], c)
	}
	for n > 0 && buf[n-1] == ' ' {
		n--
	}
	start := 0
	if letters { // leading signs, such as a bracket
		for start < n && buf[start] < 'a' && buf[start] < utf8.RuneSelf {
			start++
		}
	}
	means := ""
	if letters {
		means = phraseTable()[string(buf[start:n])]
	} else {
		means = wordless[string(buf[:n])]
	}
	switch {
	case means == "" || means == BasisSurface && d != Length:
		return Reading{}, false
	case means == BasisSurface:
		q := Quantity{Unit: into, Min: Bound{0, true}, Max: Bound{0, true}}
		return Reading{Quantity: q, Basis: BasisSurface}, true
	}
	return Reading{Absent: means}, true
}
