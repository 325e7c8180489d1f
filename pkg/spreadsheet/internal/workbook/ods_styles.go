package workbook

import (
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// odsStyles are the formats of dates in an OpenDocument file, chapter 16.29, and the tables that are hidden.
type odsStyles struct {
	formats map[string]*grid.Format // of dates and times, by the name of the format
	styles  map[string]string       // the format of a style of cells
	hidden  map[string]bool         // styles of tables that are not shown
	struck  map[string]bool         // styles of cells that strike through
}

// readFormat reads a format as the code that a workbook would have for it.
func (o *odsStyles) readFormat(s *scanner) error {
	date := string(s.name) == "date-style" || string(s.name) == "time-style"
	name := ""
	if err := s.attributes(func(key, value string) {
		if key == "style:name" {
			name = value
		}
	}); err != nil {
		return err
	}
	var code strings.Builder
	for depth := s.depth(); ; {
		ok, err := s.child(depth)
		if err != nil {
			return err
		}
		if !ok {
			break
		}
		part := string(s.name)
		long, words := false, false
		if err := s.attributes(func(key, value string) {
			long = long || key == "number:style" && value == "long"
			words = words || key == "number:textual" && value == "true"
		}); err != nil {
			return err
		}
		if part == "text" {
			text, err := appendElement(nil, 0, s, 1000)
			if err != nil {
				return err
			}
			code.WriteString(`"` + strings.ReplaceAll(string(text), `"`, "") + `"`)
			continue
		}
		code.WriteString(odsPart(part, long, words))
	}
	if o.formats == nil {
		o.formats = map[string]*grid.Format{}
	}
	if date && name != "" {
		o.formats[name] = grid.ParseFormat(code.String())
	}
	return nil
}

func odsPart(part string, long, words bool) string {
	n := 1
	letter := ""
	switch part {
	case "year":
		letter, n = "yy", 1
		if long {
			n = 2
		}
		return strings.Repeat(letter, n)
	case "month":
		letter = "m"
		if words {
			n = 3
		}
	case "day":
		letter = "d"
	case "day-of-week":
		letter, n = "d", 3
	case "hours":
		letter = "h"
	case "minutes":
		letter = "m"
	case "seconds":
		letter = "s"
	case "am-pm":
		return "AM/PM"
	}
	if long {
		n++
	}
	return strings.Repeat(letter, n)
}

// readStyle reads which format a style of cells has, and whether it strikes them through, and whether a style of tables
// hides them.
func (o *odsStyles) readStyle(s *scanner) error {
	name, format := "", ""
	if err := s.attributes(func(key, value string) {
		switch key {
		case "style:name":
			name = value
		case "style:data-style-name":
			format = value
		}
	}); err != nil {
		return err
	}
	if o.styles == nil {
		o.styles = map[string]string{}
	}
	if format != "" {
		o.styles[name] = format
	}
	for depth := s.depth(); ; {
		ok, err := s.child(depth)
		if !ok || err != nil {
			return err
		}
		if part := string(s.name); part != "table-properties" && part != "text-properties" {
			continue
		}
		if err := s.attributes(func(key, value string) {
			switch key {
			case "table:display":
				o.hidden[name] = o.hidden[name] || value == "false"
			case "style:text-line-through-style", "style:text-line-through-type":
				o.struck[name] = value != "none"
			}
		}); err != nil {
			return err
		}
	}
}

func (o *odsStyles) formatOf(style string) *grid.Format { return o.formats[o.styles[style]] }

// shownFormat returns a format in which a number looks as it is shown: 0.00" g" for 12.50 g. It is nil if the
// text is not the number with words around it.
func shownFormat(shown, value string) *grid.Format {
	first := strings.IndexAny(shown, "0123456789")
	last := strings.LastIndexAny(shown, "0123456789")
	number, err := strconv.ParseFloat(value, 64)
	if first < 0 || err != nil {
		return nil
	}
	digits := shown[first : last+1]
	prefix, suffix := strings.TrimSuffix(shown[:first], "-"), shown[last+1:]
	percent := strings.Contains(suffix, "%")
	if percent {
		number *= 100
	}
	if number < 0 {
		number = -number
	}
	whole, decimals := digits, ""
	if i := strings.LastIndexAny(digits, ".,"); i >= 0 {
		whole, decimals = digits[:i], digits[i+1:]
	}
	plain := func(s string) string {
		return strings.NewReplacer(".", "", ",", "", " ", "", "\u00a0", "", "\u202f", "", "'", "", "’", "").Replace(s)
	}
	if strconv.FormatFloat(number, 'f', len(decimals), 64) != strings.TrimRight(zeroless(plain(whole))+"."+decimals, ".") {
		whole, decimals = digits, "" // all signs stand between thousands
		if strconv.FormatFloat(number, 'f', 0, 64) != zeroless(plain(whole)) {
			return nil
		}
	}
	code := strings.Repeat("0", max(1, padding(plain(whole))))
	if decimals != "" {
		code += "." + strings.Repeat("0", len(decimals))
	}
	quote := func(s string) string {
		if s == "" {
			return ""
		}
		return `"` + strings.ReplaceAll(s, `"`, `""\"""`) + `"`
	}
	if percent {
		return grid.ParseFormat(quote(prefix) + code + "%")
	}
	if code == "0" && prefix == "" && suffix == "" {
		return nil
	}
	return grid.ParseFormat(quote(prefix) + code + quote(suffix))
}

// zeroless returns digits without the zeros in front.
func zeroless(digits string) string {
	if digits = strings.TrimLeft(digits, "0"); digits == "" {
		return "0"
	}
	return digits
}

// padding returns how many digits a number is padded to, 0 for none.
func padding(digits string) int {
	if len(digits) > 1 && digits[0] == '0' {
		return len(digits)
	}
	return 0
}
