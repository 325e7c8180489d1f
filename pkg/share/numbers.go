package share

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
)

// order puts the finds of a copy for strangers in an order that says nothing, and gives public ones new numbers.
func (c *copier) order() error {
	if !c.o.Audience.coarse() {
		return nil
	}
	slices.SortFunc(c.out.places, func(a, b int32) int { return strings.Compare(c.out.told[a].ID, c.out.told[b].ID) })
	slices.SortFunc(c.out.Report.People, func(a, b find.Person) int { return strings.Compare(a.ID, b.ID) })
	slices.SortFunc(c.out.Report.Permissions, func(a, b find.Permission) int { return strings.Compare(a.ID, b.ID) })
	slices.SortFunc(c.out.Report.Outings, func(a, b find.Outing) int { return strings.Compare(a.ID, b.ID) })
	// A gap in the numbers would tell of a find, and so would a number that a find alone does not have.
	anew := c.action("finds.number") == fresh
	i := 0
	return c.out.Change(c.ctx, func(f *find.Find) bool {
		i++
		switch number := c.numbers[f.ID]; {
		case !anew && number != "":
			f.Number = number
			delete(f.Absent, "/number")
		case anew, f.Number == "" && f.Name == "":
			f.Number = strconv.Itoa(i)
			delete(f.Absent, "/number")
		case c.tellsSpot(f.Number) && f.Name != "":
			f.Number, f.Absent = "", noted(f.Absent, "/number")
		case c.tellsSpot(f.Number):
			f.Number = figuresOf(f.ID)
		default:
			return false
		}
		return true
	})
}

// renumber gives the finds that this receiver may see numbers without a gap where one would tell of a find that is left
// out without a word: in the form of the owner's, so that new ones do not look other than old ones, and where these
// have no form in common always, to whoever may be anybody.
func (c *copier) renumber() {
	hides, one, least, width := false, true, 0, 0
	prefix, first := "", true
	var seen []*fact
	for i := range c.finds {
		f := &c.finds[i]
		if f.kept || slices.Contains(c.o.Without, f.id) {
			hides = true
			continue // the form of its number would tell of it
		}
		stem := strings.TrimRightFunc(f.number, unicode.IsDigit)
		n, err := strconv.Atoi(f.number[len(stem):])
		one = one && err == nil && (first || stem == prefix) && !c.tellsSpot(f.number)
		if first || n < least {
			least = n
		}
		if prefix, first, f.order = stem, false, n; len(f.number) > len(stem) &&
			(width == 0 || len(f.number)-len(stem) < width) {
			width = len(f.number) - len(stem)
		}
		seen = append(seen, f)
	}
	if !c.o.Audience.coarse() || !hides && (one || c.o.Receiver != "" && c.o.Audience == Club) {
		return
	}
	c.numbers = map[string]string{}
	urns := make(map[*fact]string, len(seen)) // made once: a sort asks for each many times
	for _, f := range seen {
		urns[f] = c.ids.urn(f.id)
	}
	slices.SortStableFunc(seen, func(a, b *fact) int {
		if one {
			return a.order - b.order
		}
		return strings.Compare(urns[a], urns[b])
	})
	for i, f := range seen {
		number := strconv.Itoa(i + 1)
		if one {
			if number = strconv.Itoa(least + i); len(number) < width {
				number = strings.Repeat("0", width-len(number)) + number
			}
			number = prefix + number
		}
		c.numbers[urns[f]] = number
	}
}

// tellsSpot reports whether a number on a bag may tell a place: it reads as one, begins with a square, a day or
// letters of a field's name, is one of a public register, or has more figures than a year and a count.
func (c *copier) tellsSpot(number string) bool {
	if namesSpot(number) || countDigits(number) > 8 || squareNumber().MatchString(number) ||
		halfNumber().MatchString(number) && !yearNumber().MatchString(number) || caseForm().MatchString(number) ||
		registerNumber().MatchString(number) {
		return true
	}
	for name := range c.fields {
		if codeOf(number, name) {
			return true
		}
	}
	return slices.ContainsFunc(wordsIn(number), func(w string) bool { // beside short letters only the words of any number
		return len(w) > 3 && !plainWord(keyOf(w)) && !heading.WordsKnown(w)
	})
}

// Numbers that begin with a square of a kilometre or with a day: SP7412-1, 7412/22, 140326-1, 14.3.26/3.
var (
	squareNumber = later(`(?i)^[a-hj-z]{2} ?\d{4}[-/ .]\d+$`)
	halfNumber   = later(`^(?:\d{4}/\d+|\d{6}[-/.]\d+|\d{1,2}[./]\d{1,2}[./]\d{2,4}[-/ ].*)$`)
	yearNumber   = later(`^(?:19|20)\d\d/`)
	// Numbers of public registers, with hexadecimal digits behind the sign of a body: ABC-1D2E3F.
	registerNumber = later(`(?i)^[a-z]{2,6}[- ](?:[0-9a-f]{5,6}|\d{6,})$`)
)

// namesSpot reports whether what stands as the number on the bag is a place in fact, as where a column "Ref" holds
// grid references: a reading that names a square of less than a kilometre. A bag A12 or NT12 names a larger one.
func namesSpot(number string) bool {
	r, err := coordinate.Normalise(number, coordinate.Options{})
	return err == nil && r.Uncertainty < 800
}
