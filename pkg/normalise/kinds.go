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

// special are the codes of the value packages that have a kind of their own; all others of a
// package come under one kind, and the message tells them apart.
var special = map[string]*notice.Kind{
	quantity.CodeUnitMissing:       &kinds.UnitMissing,
	quantity.CodeUnitAmbiguous:     &kinds.UnitAmbiguous,
	quantity.CodeFractionAmbiguous: &kinds.FractionAmbiguous,
	quantity.CodeSpreadsheetDate:   &kinds.SpreadsheetDate,
	quantity.CodeNegative:          &kinds.QuantityNegative,
	quantity.CodeMojibake:          &kinds.TextDamaged,
	quantity.CodeEcho:              &kinds.EchoDisagrees,
	quantity.CodeLanguage:          &kinds.LanguageAmbiguous,
	quantity.CodeLayer:             &kinds.DepthNamesLayer,
	"date-order-unknown":           &kinds.DateOrderUnknown,
	"year-two-digits":              &kinds.DateTwoDigits,
	"date-impossible":              &kinds.DateImpossible,
	"date-future":                  &kinds.DateFuture,
}

// noteKind is the kind of a note, nil for one that is not worth a notice.
func noteKind(code string) *notice.Kind {
	switch code {
	case "unit-assumed":
		return &kinds.UnitAssumed
	case "axes-assumed":
		return &kinds.AxesAssumed
	case "echo", "decimal-comma", "date-order-assumed", "order-assumed", "height-ignored", "serial-date",
		"year-two-digits", "period-uncertain", "period-approximate",
		"century-by-hundreds", "decimals-beyond-use", "decimals-differ", quantity.NoteUnitNotListed:
		return nil // settled by what was stated or by a convention of SPEC.md
	case "weekday-differs":
		return &kinds.EchoDisagrees
	}
	return &kinds.ReadingAssumed
}

// unread makes a notice of an error of one of the value packages. A position is never quoted.
func unread(pointer string, err error) notice.Notice {
	k, r := explain(err, strings.HasPrefix(pointer, "/dating") || strings.HasPrefix(pointer, "/otherDatings"))
	var q *quantity.Error
	if errors.As(err, &q) && quantity.IsDepthInWords(q) &&
		(pointer == "/depth" || strings.HasPrefix(pointer, "/otherDepths/")) {
		k = &kinds.DepthNamesLayer // shallow, a hand deep: an honest answer
	}
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
		return pick(q.Code, &kinds.QuantityNotRead), ReadingError{Message: q.Message, Help: q.Help, Proposals: q.Proposals}
	case errors.As(err, &d):
		fallback := &kinds.DateNotRead
		switch {
		case dating && d.Code == "date-reversed":
			fallback = &kinds.DatingReversed
		case dating:
			fallback = &kinds.DatingNotRead
		}
		return pick(d.Code, fallback), ReadingError{Message: d.Message, Help: d.Help, Proposals: d.Proposals}
	case errors.As(err, &p):
		return &kinds.PositionNotRead, ReadingError{Message: p.Message, Help: p.Help}
	}
	return &kinds.QuantityNotRead, ReadingError{Message: err.Error()}
}

func pick(code string, fallback *notice.Kind) *notice.Kind {
	if k := special[code]; k != nil {
		return k
	}
	return fallback
}
