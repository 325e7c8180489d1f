package edtf

import "unicode/utf8"

// The reasons for absence that a text can give.
const (
	notNoted = "not-noted"
	notKnown = "not-known"
)

// absence returns the reason where a text says only that there is nothing, or
// the empty string. The words are those of the six languages, folded, without
// full stops.
func absence(text string) string {
	if len(text) == 0 || len(text) > 40 {
		return ""
	}
	var folded [48]byte
	n := 0
	dashes, marks, blank := 0, 0, false
	for i := 0; i < len(text); {
		r, size := rune(text[i]), 1
		if r >= utf8.RuneSelf {
			r, size = utf8.DecodeRuneInString(text[i:])
		}
		i += size
		if r >= utf8.RuneSelf {
			if sign := foldSign(r); sign != 0 {
				r = rune(sign)
			}
		} else if isDigit(byte(r)) {
			return "" // no such words have a digit
		}
		switch {
		case r == '-' || r == '_':
			dashes++
		case r == '?':
			marks++
		case r == ' ' || r == 0xa0:
			blank = n > 0
			continue
		case r == '.' || r == '(' || r == ')' || r == '[' || r == ']' || r == '"':
			continue
		}
		if n+4 > len(folded) {
			return ""
		}
		if blank {
			folded[n] = ' '
			n++
			blank = false
		}
		switch {
		case r >= 'A' && r <= 'Z':
			r |= 0x20
			fallthrough
		case r < utf8.RuneSelf:
			folded[n] = byte(r)
			n++
		default:
			n += copy(folded[n:], foldLetter(r))
		}
	}
	switch {
	case n == 0:
		return ""
	case dashes == n:
		return notNoted
	case marks == n:
		return notKnown
	}
	return absentWords[string(folded[:n])]
}

var absentWords = buildAbsentWords()

func buildAbsentWords() map[string]string {
	list := make(map[string]string, 160)
	for _, text := range []string{
		// English
		"n/a", "na", "nil", "none", "unknown", "unk", "not noted", "not recorded", "not given", "not stated",
		"no date", "nd", "undated", "no record", "tbc", "tbd", "missing", "no information",
		// German
		"k a", "ka", "keine angabe", "keine angaben", "ohne angabe", "o a", "oa", "unbekannt", "unbek", "undatiert", "od", "o d",
		"ohne datum", "nicht notiert", "nicht angegeben", "nicht vermerkt", "kein datum", "entfallt",
		// Dutch
		"nvt", "onbekend", "onb", "geen", "geen opgave", "geen datum", "niet genoteerd", "niet opgegeven", "niet vermeld",
		"ongedateerd", "zd", "z d",
		// French
		"inconnu", "inconnue", "sans date", "sd", "s d", "non note", "non notee", "non renseigne", "non renseignee", "non date", "non datee",
		"neant", "nr", "aucune", "non precise", "non precisee",
		// Danish
		"ukendt", "ikke noteret", "ikke oplyst", "ikke angivet", "ingen", "ingen dato", "udateret", "uden dato", "uoplyst",
		// Swedish
		"okand", "okant", "ej noterat", "ej noterad", "ej angivet", "ej angiven", "ej antecknat", "uppgift saknas", "saknas", "odaterad",
		"odaterat", "inget datum", "utan datum", "inga uppgifter",
	} {
		list[text] = notNoted
	}
	for _, text := range []string{
		"not known", "undatable", "not datable", "undateable", "cannot be dated", "uncertain", "unsure", "indeterminate", "unidentified", "can't tell", "don't know",
		"nicht bekannt", "unbestimmt", "undatierbar", "nicht datierbar", "unklar", "unsicher", "weiss nicht",
		"niet bekend", "onbepaald", "niet dateerbaar", "ondateerbaar", "onduidelijk", "weet niet",
		"non connu", "non connue", "indetermine", "indeterminee", "indatable", "non datable", "incertain", "incertaine",
		"ikke kendt", "ubestemt", "usikker", "usikkert", "vides ikke", "kan ikke dateres", "uvis",
		"ej kand", "ej kant", "obestamd", "obestamt", "osaker", "osakert", "vet ej", "vet inte", "oviss",
	} {
		list[text] = notKnown
	}
	return list
}
