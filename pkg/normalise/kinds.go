package normalise

import (
	"errors"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
)

// What normalising says. The text as written always stays in the record.
var (
	UnitMissing        = &kinds.UnitMissing
	UnitAmbiguous      = &kinds.UnitAmbiguous
	unitAssumed        = &kinds.UnitAssumed
	fractionAmbiguous  = &kinds.FractionAmbiguous
	SpreadsheetDate    = &kinds.SpreadsheetDate
	quantityNegative   = &kinds.QuantityNegative
	textDamaged        = &kinds.TextDamaged
	echoDisagrees      = &kinds.EchoDisagrees
	quantityUnread     = &kinds.QuantityNotRead
	layerNamed         = &kinds.DepthNamesLayer
	languageAmbiguous  = &kinds.LanguageAmbiguous
	dateOrderUnknown   = &kinds.DateOrderUnknown
	dateTwoDigits      = &kinds.DateTwoDigits
	dateImpossible     = &kinds.DateImpossible
	dateFuture         = &kinds.DateFuture
	dateUnread         = &kinds.DateNotRead
	datingUnread       = &kinds.DatingNotRead
	datingReversed     = &kinds.DatingReversed
	positionUnread     = &kinds.PositionNotRead
	readingAssumed     = &kinds.ReadingAssumed
	uncertaintyAssumed = &kinds.UncertaintyAssumed
	lotAssumed         = &kinds.LotAssumed
	countryUnread      = &kinds.CountryNotRead
	factsTaken         = &kinds.FactsTakenOver
	numberMissing      = &kinds.NumberMissing
	TermNotListed      = &kinds.TermNotListed
	termRespelt        = &kinds.TermRespelt
	termSuggested      = &kinds.TermSuggested
)

// Kinds returns every kind of notice of this package.
func Kinds() []*notice.Kind {
	return []*notice.Kind{UnitMissing, UnitAmbiguous, unitAssumed, fractionAmbiguous, SpreadsheetDate, quantityNegative,
		textDamaged,
		echoDisagrees, languageAmbiguous, layerNamed, quantityUnread, dateOrderUnknown, dateTwoDigits, dateImpossible,
		dateFuture, dateUnread, datingUnread, datingReversed,
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
	case "weekday-differs":
		return echoDisagrees
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
		switch {
		case dating && d.Code == "date-reversed":
			fallback = datingReversed
		case dating:
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
