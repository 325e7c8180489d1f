package validate

import (
	"fmt"
	"slices"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/validate/internal/phrase"
	"github.com/findslip/findslip/schema"
)

var coinRules = []*Rule{coinBeyondTable, coinLighterThanTable}

// coinTable is schema/data/coins.json, ready for looking up by the words of a denomination.
type coinTable struct {
	Rows    []coinRow `json:"rows"`
	Foreign []string  `json:"foreign"` // words that name an issuer the table does not hold

	phrases *phrase.Set // tag: index of a row, or -1 for foreign
}

// coinRow is one denomination of one issuer over some years.
type coinRow struct {
	ID                string   `json:"id"`
	Country           string   `json:"country"`
	Denomination      string   `json:"denomination"`
	Words             []string `json:"words"`
	FirstYear         int      `json:"firstYear"`
	LastYear          int      `json:"lastYear"` // 0: still struck
	Materials         []string `json:"materials"`
	Mass              float64  `json:"mass"`              // g
	MassTolerance     float64  `json:"massTolerance"`     // g, unworn
	Diameter          float64  `json:"diameter"`          // mm
	DiameterTolerance float64  `json:"diameterTolerance"` // mm
	Verified          string   `json:"verified"`
}

func readCoins() (coinTable, error) {
	t, err := schema.Table[coinTable]("coins")
	t.phrases = phrase.New()
	for i := range t.Rows {
		t.phrases.Add(i, t.Rows[i].Words...)
	}
	t.phrases.Add(-1, t.Foreign...)
	return t, err
}

// coinRows returns the rows that a coin of a stated denomination and year may be of. When the
// issuer is not known, or the coin is none of the table, there is none.
func coinRows(c *Case) (rows []*coinRow, year int) {
	f := c.Find
	if classOf(f) != "coin" || isLot(f) {
		return nil, 0
	}
	year, ok := statedYear(f)
	if !ok {
		return nil, 0
	}
	t := &theTables().coins
	country := countryOf(c)
	longest, foreign := 0, false
	for _, text := range []string{f.Type, f.Name} {
		t.phrases.Scan(text, func(tag, words int) bool {
			switch {
			case tag < 0:
				foreign = true
			case words > longest:
				longest, rows = words, append(rows[:0], &t.Rows[tag])
			case words == longest && !slices.Contains(rows, &t.Rows[tag]):
				rows = append(rows, &t.Rows[tag])
			}
			return true
		})
	}
	if foreign {
		return nil, year
	}
	rows = slices.DeleteFunc(rows, func(r *coinRow) bool {
		return year < r.FirstYear || r.LastYear != 0 && year > r.LastYear || !issuedIn(r.Country, country)
	})
	return rows, year
}

// issuedIn tells whether the country a coin was found in is the one that issued it. A coin from
// abroad is not looked at, for another country may have used the same words.
func issuedIn(issuer, country string) bool {
	return country != "" && (issuer == country || issuer == "EU" && theTables().law.InGroup("EU", country))
}

// statedYear returns the year on the coin: of a mark, else of a dating of one year.
func statedYear(f *find.Find) (int, bool) {
	for i := range f.Marks {
		if f.Marks[i].Year.Known() {
			return f.Marks[i].Year.Int(), true
		}
	}
	if y := yearsOf(f.Dating); y.exact && ofMaking(f.Dating) {
		return y.from, true
	}
	return 0, false
}

// coinMatch looks at a coin beside the rows it may be of, and returns what is wrong with the row
// that fits best: nothing where one row fits.
func coinMatch(c *Case, judge func(f *find.Find, r *coinRow) (pointer, message string)) (pointer, message string) {
	rows, _ := coinRows(c)
	for _, r := range rows {
		p, m := judge(c.Find, r)
		if p == "" {
			return "", ""
		}
		if pointer == "" {
			pointer, message = p, m
		}
	}
	return pointer, message
}

var coinBeyondTable = &Rule{
	Kind: notice.Kind{
		Code: "coin-beyond-table", Severity: notice.Warning, Group: "material", Spec: "5.6",
		Title:  "the coin is heavier, wider or of another metal than that denomination in that year",
		Why:    "another coin, a copy, or a unit that slipped: use and soil never add to a coin",
		Help:   "Read the year and the denomination again, and look at the units of weight and diameter.",
		Source: "schema/data/coins.json, which names the coinage act or table of each row; the tolerances are our proposal",
		Before: `"name": "farthing", "dating": {"date": "1866"}, "weight": {"min": 9.4, "max": 9.4}`,
		After:  `"name": "penny", "dating": {"date": "1866"}, "weight": {"min": 9.4, "max": 9.4}`,
	},
	// When: Rows are looked for in schema/data/coins.json for a find of the class `coin` that is not several objects
	// and has a year: that of the first of `marks` with a `year`, else the one year of a dating of making. They are
	// those of the longest phrase of `words` that stands in `type` or `name` as whole words, in whose years it lies
	// (`firstYear` to `lastYear`, which may be missing), and whose `country` is that of the place (the first part of
	// the jurisdiction of the permission, else the country of a place; `EU` for its members); none where a word of
	// `foreign` stands there too. The coin does not fit a row if its least weight is above `mass` and `massTolerance`
	// (not for `weightState` `dirty`, `wet` or `with-fixing`; at `/weight`); or its least diameter above `diameter`
	// and `diameterTolerance` (not with the traces `flattened` or `hammered`; at `/dimensions/diameter`); or its first
	// material, if not `other`, is not among `materials` (at `/materials/0`). There are rows, and it fits none; the
	// first row is spoken of.
	Check: func(c *Case, say Say) {
		pointer, message := coinMatch(c, func(f *find.Find, r *coinRow) (string, string) {
			if w, ok := least(f.Weight); ok && weighable(f) && r.Mass > 0 && w > r.Mass+r.MassTolerance {
				return "/weight", fmt.Sprintf("a %s of that year weighed %s g when new; this one is heavier", r.Denomination, figure(r.Mass))
			}
			if f.Dimensions != nil && !hasTrace(f, "flattened", "hammered") {
				if d, ok := least(f.Dimensions.Diameter); ok && r.Diameter > 0 && d > r.Diameter+r.DiameterTolerance {
					return "/dimensions/diameter", fmt.Sprintf("a %s of that year is %s mm across; this one is wider", r.Denomination, figure(r.Diameter))
				}
			}
			if m := material(f); m != "" && m != "other" && len(r.Materials) > 0 && !slices.Contains(r.Materials, m) {
				return "/materials/0", fmt.Sprintf("a %s of that year was not of %s", r.Denomination, f.Materials[0].Text())
			}
			return "", ""
		})
		if pointer != "" {
			say(pointer, message)
		}
	},
}

var coinLighterThanTable = &Rule{
	Kind: notice.Kind{
		Code: "coin-lighter-than-table", Severity: notice.Info, Group: "material", Spec: "5.6",
		Title:  "the coin is lighter or smaller than wear would make that denomination",
		Why:    "a dug coin is always lighter; so much lighter it is another coin, clipped, broken, a copy, or a unit slipped",
		Help:   "Read the year and the denomination again. Say in condition or traces what is missing.",
		Source: "schema/data/coins.json, which names the coinage act or table of each row; the share that wear may take is our proposal",
		Before: `"name": "penny", "dating": {"date": "1866"}, "weight": {"min": 2.8, "max": 2.8}`,
		After:  `"name": "farthing", "dating": {"date": "1866"}, "weight": {"min": 2.8, "max": 2.8}`,
	},
	// When: There are rows as in `coin-beyond-table`, and the coin is whole, without the traces `clipped`, `cut`,
	// `broken`, `pierced`, `filed` and `melted-part`. It does not fit a row if its greatest weight is less than `mass`
	// less `wear-percent` per cent (at `/weight`), or its greatest diameter less than 95 per cent of `diameter` less
	// `diameterTolerance` (at `/dimensions/diameter`). It fits none; the first row is spoken of.
	Check: func(c *Case, say Say) {
		f := c.Find
		if !isWhole(f) || hasTrace(f, "clipped", "cut", "broken", "pierced", "filed", "melted-part") {
			return
		}
		pointer, message := coinMatch(c, func(f *find.Find, r *coinRow) (string, string) {
			left := float64(100 - c.Settings.WearPercent)
			if w, ok := most(f.Weight); ok && r.Mass > 0 && w*100 < r.Mass*left {
				return "/weight", fmt.Sprintf("a %s of that year weighed %s g when new; this one is lighter by more than wear explains", r.Denomination, figure(r.Mass))
			}
			if f.Dimensions != nil {
				if d, ok := most(f.Dimensions.Diameter); ok && r.Diameter > 0 && d*100 < (r.Diameter-r.DiameterTolerance)*95 {
					return "/dimensions/diameter", fmt.Sprintf("a %s of that year is %s mm across; this one is smaller", r.Denomination, figure(r.Diameter))
				}
			}
			return "", ""
		})
		if pointer != "" {
			say(pointer, message)
		}
	},
}
