package normalise

import (
	"errors"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
)

func kind(code string, s notice.Severity, spec, title, why, help, source, before, after string) *notice.Kind {
	return &notice.Kind{Code: code, Severity: s, Group: "reading", Spec: spec, Title: title, Why: why, Help: help,
		Source: source, Before: before, After: after}
}

const (
	practice = "common practice, no source"
	proposal = "our proposal"
)

// What normalising says. The text as written always stays in the record.
var (
	UnitMissing = kind("unit-missing", notice.Warning, "4.1", "a number without a unit",
		"8 may be inches or centimetres, and nobody can tell later which",
		"Write the unit in the cell (8 in) or in the heading (Depth in brackets in), or give --unit.", practice, "8", "8 in")
	UnitAmbiguous = kind("unit-ambiguous", notice.Warning, "4.1", "a unit with two meanings",
		"gr is a grain to one and a gram to another: a factor of fifteen", "Write grain or g.",
		"UCUM writes grain as [gr], the gram as g", "12 gr", "12 g")
	unitAssumed = kind("unit-assumed", notice.Info, "4.1", "the unit comes from an option",
		"the cell and its heading state none", "Look whether the unit fits; better state it in the heading.", proposal, "8",
		"8 in")
	fractionAmbiguous = kind("fraction-ambiguous", notice.Error, "4.1", "a fraction that can mean two things",
		"81/2 may be eight and a half or eighty-one halves", "Write a blank or a hyphen before the fraction: 8 1/2 in.",
		practice, `81/2"`, `8 1/2"`)
	SpreadsheetDate = kind("spreadsheet-date", notice.Error, "5.15", "a spreadsheet date where a measure belongs",
		"programs turn 8-9 into 8 September and 3/4 into 3 April, and the measure is gone",
		"Type the measure again with its unit; format the column as text first.",
		"published surveys found such damage in about a fifth of papers with gene lists", "2024-09-08", "8-9 in")
	quantityNegative = kind("quantity-negative", notice.Error, "4.1", "a measure below nought",
		"a depth is counted downwards from the surface, a size from nothing", "Leave the minus sign out.", practice, "-8 in",
		"8 in")
	textDamaged = kind("text-damaged", notice.Error, "5.15", "damaged characters",
		"the file was once opened in the wrong encoding; signs such as a half have become two others",
		"Save the file again as UTF-8, or type the sign again.", practice, "8\u00c2½\"", `8½"`)
	echoDisagrees = kind("echo-disagrees", notice.Error, "4.1", "one measure stated twice, differently",
		"8 in is 20 cm, not 30: one of the two is wrong", "Keep the one that was measured.", practice, "8 in (30 cm)",
		"8 in (20 cm)")
	quantityUnread = kind("quantity-not-read", notice.Warning, "4.1", "a measure that cannot be read honestly",
		"the words are kept, but nobody can sort or compare by them",
		"Write a number with a unit, a range, or more than or less than.", proposal, "a good bit down", "more than 30 cm")
	layerNamed = kind("depth-names-layer", notice.Info, "4.1", "a layer of the ground in place of a depth",
		"the plough layer is an honest answer, and no figure", "Nothing to do; where the depth was measured, write it too.",
		proposal, "plough soil", "plough soil, about 20 cm")
	languageAmbiguous = kind("language-ambiguous", notice.Warning, "14", "one text, and another value in each language",
		"a word or sign means one thing in one language and another in the next, and nobody said which the log is in",
		"Say which language the log is in: --log-language de, or in its settings; or write the figure out.", proposal,
		"in 8 (a column of cm)", "8 cm")
	dateOrderUnknown = kind("date-order-unknown", notice.Warning, "4.3", "day and month could be the other way round",
		"03/04 is the third of April to one and the fourth of March to another",
		"Say which comes first: --date-order dmy or mdy, or write 2026-04-03.", practice, "03/04/2026", "2026-04-03")
	dateTwoDigits = kind("date-two-digits", notice.Warning, "4.3", "a year of two digits",
		"26 may be 1926 or 2026", "Write four digits, or say with --pivot which hundred years are meant.", practice,
		"12/4/26", "12/4/2026")
	dateImpossible = kind("date-impossible", notice.Error, "4.3", "a day that does not exist",
		"it is a typing error, and only the finder knows the right day", "Look at the calendar or the diary.",
		"ISO 8601-1: the Gregorian calendar", "30/02/2026", "28/02/2026")
	dateFuture = kind("date-future", notice.Error, "4.3", "a day in the future",
		"nothing can be found tomorrow", "Look at the year; the clock of the phone may be wrong.", practice, "2062-04-12",
		"2026-04-12")
	dateUnread = kind("date-not-read", notice.Warning, "4.3", "a date that cannot be read honestly",
		"the words are kept, but the find has no day", "Write the day as 2026-04-12, or what is known: 2026-04, 2026.",
		proposal, "the wet Sunday", "2026-04-12")
	datingUnread = kind("dating-not-read", notice.Info, "4.4", "an age that cannot be read honestly",
		"the words are kept, but the find cannot be sorted by age",
		"Write a century, a span of years or c. 1750; a period word alone is fine.", proposal, "old", "18th century")
	positionUnread = kind("position-not-read", notice.Warning, "4.2", "a position that cannot be read honestly",
		"the words are kept, but the find is on no map",
		"Write a grid reference with its letters, or latitude and longitude in degrees; name the system of bare eastings and northings with --system.", proposal, "52.x, by the gate", "a full grid reference")
	readingAssumed = kind("reading-assumed", notice.Info, "6.2", "a reading that assumes something",
		"people write in more than one way; what was assumed is said so that it can be put right",
		"Look whether it is what was meant.", proposal, "9-7 in", "7-9 in")
	uncertaintyAssumed = kind("uncertainty-assumed", notice.Info, "4.2", "the uncertainty is the usual one of the method",
		"people who use the map take a missing figure for an exact one",
		"Write the figure that the receiver showed, if it did.",
		"Georeferencing Best Practices 1.0 (2020) and the list position-method", "phone, no figure", "phone, 5 m")
	lotAssumed = kind("lot-assumed", notice.Info, "5.5", "several objects are taken as a lot",
		"a lot is described and weighed differently from one object",
		"Say kind lot or single, or enter the objects one by one.", proposal, "count 3", "kind lot, count 3")
	countryUnread = kind("country-not-read", notice.Warning, "4.2",
		"a country that is not known, or may be one of several",
		"the law differs from country to country, and nothing can be asked of a law that is not known",
		"Write the country by its name or its code: Scotland, or GB-SCT.", "ISO 3166; CLDR 48 for names", "Georgia", "US-GA")
	factsTaken = kind("facts-taken-over", notice.Info, "8.4", "one cell holds several facts",
		"they were taken over into blank members so that they can be checked; the words stay where they were",
		"Look whether they are in the right place; a column for each is better.", proposal,
		"SP 5270 9011, 20 cm, iron", "three columns")
	numberMissing = kind("number-missing", notice.Warning, "3.6", "the find has no number",
		"nothing ties the record to the bag", "Write the number of the bag.", practice, "no number", "12")
	TermNotListed = kind("term-not-listed", notice.Info, "4.5", "words that are on no list",
		"the words are kept, but nobody can search by them", "Choose a word of the list, or leave it if none fits.", proposal,
		"greenish stuff", "copper alloy")
	termRespelt = kind("term-respelt", notice.Info, "4.5", "a misspelling that is well known",
		"the words are kept and the code of the right word stands beside them", "Look whether it is what was meant.",
		proposal, "bras", "brass")
	termSuggested = kind("term-suggested", notice.Info, "4.5", "words that only suggest a code",
		"green metal is mostly copper alloy, but nobody has said so; the certainty says possible or probable",
		"Look whether it is what was meant.", proposal, "green metal", "copper alloy, possible")
)

// Kinds returns every kind of notice of this package.
func Kinds() []*notice.Kind {
	return []*notice.Kind{UnitMissing, UnitAmbiguous, unitAssumed, fractionAmbiguous, SpreadsheetDate, quantityNegative,
		textDamaged,
		echoDisagrees, languageAmbiguous, layerNamed, quantityUnread, dateOrderUnknown, dateTwoDigits, dateImpossible,
		dateFuture, dateUnread, datingUnread,
		positionUnread, countryUnread, readingAssumed, uncertaintyAssumed, lotAssumed, factsTaken, numberMissing,
		TermNotListed, termRespelt,
		termSuggested}
}

// special are the codes of the value packages that have a kind of their own; all others of a
// package come under one kind, and the message tells them apart.
var special = map[string]*notice.Kind{
	quantity.CodeUnitMissing:       UnitMissing,
	quantity.CodeUnitAmbiguous:     UnitAmbiguous,
	quantity.CodeFractionAmbiguous: fractionAmbiguous,
	quantity.CodeSpreadsheetDate:   SpreadsheetDate,
	quantity.CodeNegative:          quantityNegative,
	quantity.CodeMojibake:          textDamaged,
	quantity.CodeEcho:              echoDisagrees,
	quantity.CodeLanguage:          languageAmbiguous,
	quantity.CodeLayer:             layerNamed,
	"date-order-unknown":           dateOrderUnknown,
	"year-two-digits":              dateTwoDigits,
	"date-impossible":              dateImpossible,
	"date-future":                  dateFuture,
}

// noteKind is the kind of a note, nil for one that is not worth a notice.
func noteKind(code string) *notice.Kind {
	switch code {
	case "unit-assumed":
		return unitAssumed
	case "echo", "decimal-comma", "date-order-assumed", "order-assumed", "height-ignored", "serial-date",
		"year-two-digits", "period-uncertain", "period-approximate",
		"century-by-hundreds", "decimals-beyond-use", "decimals-differ":
		return nil // settled by what was stated or by a convention of SPEC.md
	}
	return readingAssumed
}

// unread makes a notice of an error of one of the value packages. A position is never quoted.
func unread(pointer string, err error) notice.Notice {
	k, r := explain(err, strings.HasPrefix(pointer, "/dating") || strings.HasPrefix(pointer, "/otherDatings"))
	n := notice.New(k, pointer, r.Message)
	n.Help = r.Help
	n.Proposals = r.Proposals
	return n
}

// explain tells the kind of an error and its words; dating says that an age was read and not a day.
func explain(err error, dating bool) (*notice.Kind, ReadingError) {
	var q *quantity.Error
	var d *edtf.Error
	var p *coordinate.Error
	switch {
	case errors.As(err, &q):
		return pick(q.Code, quantityUnread), ReadingError{Message: q.Message, Help: q.Help, Proposals: q.Proposals}
	case errors.As(err, &d):
		fallback := dateUnread
		if dating {
			fallback = datingUnread
		}
		return pick(d.Code, fallback), ReadingError{Message: d.Message, Help: d.Help, Proposals: d.Proposals}
	case errors.As(err, &p):
		return positionUnread, ReadingError{Message: p.Message, Help: p.Help}
	}
	return quantityUnread, ReadingError{Message: err.Error()}
}

func pick(code string, fallback *notice.Kind) *notice.Kind {
	if k := special[code]; k != nil {
		return k
	}
	return fallback
}
