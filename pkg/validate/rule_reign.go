package validate

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/validate/internal/phrase"
	"github.com/findslip/findslip/schema"
)

// reigns are the rows of schema/data/rulers.json, ready to be looked for.
type reigns struct {
	Rows  []reign  `json:"rows"`
	Later []string `json:"later"` // words of things that are made after a ruler

	Others []string `json:"others"` // words behind a name, before another one or a land

	names, later *phrase.Set
}

// reign is the years of all rulers of one name and number, or of one type of coin.
type reign struct {
	Label string   `json:"label"`
	Names []string `json:"names"`
	Coin  bool     `json:"coin"` // the name counts only beside a word for a coin
	Years [][2]int `json:"years"`
}

// forever stands for years that are still to come.
const forever = 9999

func readReigns() (*reigns, error) {
	table, err := schema.Table[reigns]("rulers")
	t := &table
	t.names, t.later = phrase.New(), phrase.New()
	t.later.Add(0, t.Later...)
	for i := range t.Rows {
		t.names.Add(i, t.Rows[i].Names...)
	}
	return t, err
}

var outsideReign = &Rule{
	Kind: kinds.OutsideReign,
	Check: func(c *Case, say Say) {
		f, t := c.Find, theTables()
		row, ok := t.reigns.of(f.Name, t.things)
		if !ok {
			return
		}
		at, year := "/name", yearIn(f.Name)
		y := &years{from: year, to: year, hasFrom: true, hasTo: true}
		if year == 0 {
			if y, at = c.years(), "/dating/date"; !y.hasFrom || !y.hasTo || f.Dating.Date == "" || y.from > y.to {
				return
			}
		}
		const slack = 2 // a calendar that began in March, dies used up
		var spans []string
		for _, s := range row.Years {
			if y.from <= s[1]+slack && y.to >= s[0]-slack {
				return
			}
			spans = append(spans, spanWords(s))
		}
		say(at, fmt.Sprintf("%s is of %s, the year is %s", row.Label, strings.Join(spans, " or "), y.words()))
	},
}

func spanWords(s [2]int) string {
	switch {
	case s[1] == forever:
		return strconv.Itoa(s[0]) + " or later"
	case s[0] == s[1]:
		return strconv.Itoa(s[0])
	}
	return fmt.Sprintf("%d to %d", s[0], s[1])
}

// of returns the one row that a name speaks of; false where it speaks of none, of several, or not plainly.
func (t *reigns) of(name string, things *things) (row *reign, ok bool) {
	var buf [phrase.MaxWord]byte
	for rest := name; rest != ""; {
		i, words := t.names.At(rest)
		if words == 0 {
			if _, rest, ok = phrase.Next(rest, &buf); !ok {
				break
			}
			continue
		}
		if row != nil {
			return nil, false
		}
		row = &t.Rows[i]
		for range words {
			_, rest, _ = phrase.Next(rest, &buf)
		}
		next, _, _ := phrase.Next(rest, &buf)
		if slices.Contains(t.Others, string(next)) {
			return nil, false // Edward I or II, Charles IV of Lorraine
		}
	}
	if row == nil || strings.Contains(name, "?") || t.later.Has(name) || things.unless.Has(name) {
		return nil, false
	}
	coin := false
	things.words.Scan(name, func(tag, _ int) bool { coin = coin || things.Rows[tag].Coin; return true })
	return row, coin || !row.Coin
}

// yearIn returns the one year that a name has; 0 where it has none or several.
func yearIn(name string) int {
	numbers := slices.DeleteFunc(strings.FieldsFunc(name, func(r rune) bool { return r < '0' || r > '9' }),
		func(s string) bool { return len(s) != 4 || s < "0900" || s > "2100" })
	if len(numbers) != 1 {
		return 0
	}
	year, _ := strconv.Atoi(numbers[0])
	return year
}
