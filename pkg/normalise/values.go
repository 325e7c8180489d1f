package normalise

import (
	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/internal/memo"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// The value packages stand alone, and each knows the words for nothing that belong to its values.
// What they cannot read, or take for such a word, is looked up among those of all cells, so that
// withheld or onleesbaar says the same in every column.

// Cells repeat from row to row: the day of an outing, a depth, an age. So what is made of a text is
// remembered for as long as there is room for it. A place is another one in each row.

// read is what came of reading a text.
type read[T any] struct {
	value T
	err   error
}

var (
	measures = memo.New(func(k memo.Key[quantity.Options]) read[quantity.Reading] {
		r, err := newMeasure(k.Text, k.With)
		return read[quantity.Reading]{r, err}
	})
	days = memo.New(func(k memo.Key[edtf.Options]) read[edtf.Found] {
		r, err := newFound(k.Text, k.With)
		return read[edtf.Found]{r, err}
	})
	ages = memo.New(func(k memo.Key[edtf.Options]) read[edtf.Dating] {
		r, err := newAge(k.Text, k.With)
		return read[edtf.Dating]{r, err}
	})
)

// readMeasure reads a length, a mass, or a count where no unit is asked for.
func readMeasure(text string, o quantity.Options) (quantity.Reading, error) {
	r := measures.Of(memo.Key[quantity.Options]{Text: text, With: o})
	return r.value, r.err
}

func newMeasure(text string, o quantity.Options) (r quantity.Reading, err error) {
	switch o.Into.Dimension() {
	case quantity.G.Dimension():
		r, err = quantity.NormaliseMass(text, o)
	case quantity.CM.Dimension():
		r, err = quantity.NormaliseLength(text, o)
	default:
		r, err = quantity.NormaliseCount(text, o)
	}
	if err != nil || r.Absent != "" {
		if reason, none := vocabulary.Absent(text); none {
			return quantity.Reading{Absent: reason}, nil
		}
	}
	return r, err
}

// readFound reads a day.
func readFound(text string, o edtf.Options) (edtf.Found, error) {
	r := days.Of(memo.Key[edtf.Options]{Text: text, With: o})
	return r.value, r.err
}

func newFound(text string, o edtf.Options) (edtf.Found, error) {
	r, err := edtf.NormaliseFound(text, o)
	if err != nil || r.Absent != "" {
		if reason, none := vocabulary.Absent(text); none {
			return edtf.Found{Absent: reason}, nil
		}
	}
	return r, err
}

// readAge reads how old a thing is.
func readAge(text string, o edtf.Options) (edtf.Dating, error) {
	r := ages.Of(memo.Key[edtf.Options]{Text: text, With: o})
	return r.value, r.err
}

func newAge(text string, o edtf.Options) (edtf.Dating, error) {
	r, err := edtf.NormaliseDating(text, o)
	if err != nil || r.Absent != "" {
		if reason, none := vocabulary.Absent(text); none {
			return edtf.Dating{Absent: reason}, nil
		}
	}
	return r, err
}

// readPlace reads a position.
func readPlace(text string, o coordinate.Options) (coordinate.Reading, error) {
	r, err := coordinate.Normalise(text, o)
	if err != nil || r.Absent != "" {
		if reason, none := vocabulary.Absent(text); none {
			return coordinate.Reading{Absent: reason}, nil
		}
	}
	return r, err
}
