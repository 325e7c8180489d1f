package workbook

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// builtIn are the format codes that a workbook names by number only, ISO/IEC 29500-1 clause 18.8.30.
// The numbers 5 to 8, which show money in the currency of whoever looks, come without a sign. Those
// from 27 on that depend on an East Asian language are dates and times in all of them, so one
// spelling stands for all.
var builtIn = map[int]string{
	1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00",
	5: "#,##0", 6: "#,##0", 7: "#,##0.00", 8: "#,##0.00",
	9: "0%", 10: "0.00%", 11: "0.00E+00", 12: "# ?/?", 13: "# ??/??",
	14: "mm-dd-yy", 15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy",
	18: "h:mm AM/PM", 19: "h:mm:ss AM/PM", 20: "h:mm", 21: "h:mm:ss", 22: "m/d/yy h:mm",
	27: eastDate, 28: eastDate, 29: eastDate, 30: eastDate, 31: eastDate,
	32: eastTime, 33: eastTime, 34: eastTime, 35: eastTime, 36: eastDate,
	37: "#,##0 ;(#,##0)", 38: "#,##0 ;[Red](#,##0)", 39: "#,##0.00;(#,##0.00)", 40: "#,##0.00;[Red](#,##0.00)",
	45: "mm:ss", 46: "[h]:mm:ss", 47: "mmss.0", 48: "##0.0E+0", 49: "@",
	50: eastDate, 51: eastDate, 52: eastDate, 53: eastDate, 54: eastDate,
	55: eastDate, 56: eastDate, 57: eastDate, 58: eastDate,
}

const (
	eastDate = "yyyy-mm-dd"
	eastTime = "hh:mm:ss"
)

// readStyles reads the cell formats, as far as they concern numbers.
func (w *workbook) readStyles(s *scanner) error {
	if err := s.root("styleSheet"); err != nil {
		return err
	}
	custom := make(map[int]string)
	var fonts []font
	var fills, numbers []int
	for depth := s.depth(); ; {
		ok, err := s.child(depth)
		if err != nil {
			return err
		}
		if !ok {
			break
		}
		switch string(s.name) {
		case "numFmts":
			err = readList(s, "numFmt", func(attributes map[string]string) {
				if id, err := strconv.Atoi(attributes["numFmtId"]); err == nil {
					custom[id] = attributes["formatCode"]
				}
			})
		case "fonts":
			fonts, err = readFonts(s)
		case "fills":
			fills, err = readFills(s)
		case "cellXfs":
			err = readList(s, "xf", func(attributes map[string]string) {
				id, _ := strconv.Atoi(attributes["numFmtId"])
				numbers = append(numbers, id)
				of, ground := font{colour: noColour}, white
				if i, err := strconv.Atoi(attributes["fontId"]); err == nil && i >= 0 && i < len(fonts) {
					of = fonts[i]
				}
				if i, err := strconv.Atoi(attributes["fillId"]); err == nil && i >= 0 && i < len(fills) {
					ground = fills[i]
				}
				w.struck = append(w.struck, of.struck)
				w.unseen = append(w.unseen, custom[id] == ";;;" || of.small || alike(of.colour, ground))
			})
		}
		if err != nil {
			return err
		}
	}
	known := make(map[int]*grid.Format)
	w.styles = make([]*grid.Format, len(numbers))
	for i, id := range numbers {
		f, ok := known[id]
		if !ok {
			code, given := custom[id]
			if !given {
				code = builtIn[id]
			}
			if code != "" && !strings.EqualFold(code, "general") {
				f = grid.ParseFormat(code)
			}
			known[id] = f
		}
		w.styles[i] = f
	}
	return nil
}

// A font is what of one says whether its writing is to be seen.
type font struct {
	struck, small bool
	colour        int
}

// Colours are red, green and blue in one number; one that only the theme or the program knows is noColour.
const (
	white    = 0xffffff
	noColour = -1
)

// colourOf reads one attribute of a colour; the first two of a theme are its paper and its ink.
func colourOf(key, value string) int {
	switch {
	case key == "rgb" && len(value) >= 6:
		if v, err := strconv.ParseInt(value[len(value)-6:], 16, 32); err == nil {
			return int(v)
		}
	case key == "theme" && value == "0":
		return white
	case key == "theme" && value == "1":
		return 0
	}
	return noColour
}

// alike reports whether nobody can tell two colours apart.
func alike(a, b int) bool {
	for shift := 0; shift <= 16 && a != noColour && b != noColour; shift += 8 {
		if d := a>>shift&0xff - b>>shift&0xff; d > 24 || d < -24 {
			return false
		}
	}
	return a != noColour && b != noColour
}

// readFonts tells of each font whether it strikes through what is written in it, its colour, and whether it is too
// small.
func readFonts(s *scanner) (out []font, err error) {
	err = eachWithin(s, func() { out = append(out, font{colour: noColour}) }, func(name, key, value string) {
		of := &out[len(out)-1]
		switch {
		case name == "strike":
			of.struck = key == "" || of.struck && !(key == "val" && (value == "0" || value == "false"))
		case name == "sz" && key == "val":
			size, err := strconv.ParseFloat(value, 64)
			of.small = err == nil && size <= 2
		case name == "color" && of.colour == noColour:
			of.colour = colourOf(key, value)
		}
	})
	return out, err
}

// readFills reads the ground of each fill: white for none, and a colour where it is solid.
func readFills(s *scanner) (out []int, err error) {
	solid := false
	err = eachWithin(s, func() { out, solid = append(out, white), false }, func(name, key, value string) {
		switch {
		case name == "patternFill" && key == "patternType":
			if solid = value == "solid"; value != "none" {
				out[len(out)-1] = noColour
			}
		case name == "fgColor" && solid && out[len(out)-1] == noColour:
			out[len(out)-1] = colourOf(key, value)
		}
	})
	return out, err
}

// eachWithin goes through a list: begin is called for each of its items, found for each part within, first without and
// then with each of its attributes.
func eachWithin(s *scanner, begin func(), found func(name, key, value string)) error {
	for depth := s.depth(); ; {
		if ok, err := s.child(depth); !ok || err != nil {
			return err
		}
		begin()
		if err := partsWithin(s, 2, found); err != nil {
			return err
		}
	}
}

// partsWithin calls found for what lies up to so many levels within an element.
func partsWithin(s *scanner, levels int, found func(name, key, value string)) error {
	for depth := s.depth(); levels > 0; {
		if ok, err := s.child(depth); !ok || err != nil {
			return err
		}
		name := string(s.name)
		found(name, "", "")
		if err := s.attributes(func(key, value string) { found(name, key, value) }); err != nil {
			return err
		}
		if err := partsWithin(s, levels-1, found); err != nil {
			return err
		}
	}
	return nil
}

// readList reads the attributes of all children of one name.
func readList(s *scanner, name string, found func(attributes map[string]string)) error {
	for depth := s.depth(); ; {
		if ok, err := s.child(depth); !ok || err != nil {
			return err
		}
		if string(s.name) != name {
			continue
		}
		attributes := make(map[string]string)
		if err := s.attributes(func(key, value string) {
			attributes[key] = value
		}); err != nil {
			return err
		}
		found(attributes)
	}
}

// readPanes reads how much of the sheet is frozen.
func (r *sheetReader) readPanes() error {
	for depth := r.depth(); ; {
		if ok, err := r.child(depth); !ok || err != nil {
			return err
		}
		err := readList(r.scanner, "pane", func(attributes map[string]string) {
			if state := attributes["state"]; state == "frozen" || state == "frozenSplit" {
				r.layout.FrozenColumns = count(attributes["xSplit"], grid.MaxColumns)
				r.layout.FrozenRows = count(attributes["ySplit"], grid.MaxRows)
			}
		})
		if err != nil {
			return err
		}
	}
}

// count reads a count, which stands in the file as a number with or without decimals; anything
// else is zero.
func count(s string, most int) int {
	value, err := strconv.ParseFloat(s, 64)
	if err != nil || !(value >= 0 && value <= float64(most)) {
		return 0
	}
	return int(value)
}

// leastSeen is the height of a row in points, or the width of a column in characters, up to which it is not seen.
const leastSeen = 1.0

// readColumns reads which columns are hidden.
func (r *sheetReader) readColumns() error {
	// changes holds, for each column, how many hidden stretches begin and end there, so a file that
	// names the same columns over and over costs no more than its length.
	changes := make([]int, grid.MaxColumns+2)
	err := readList(r.scanner, "col", func(attributes map[string]string) {
		width, err := strconv.ParseFloat(attributes["width"], 64)
		if !isTrue([]byte(attributes["hidden"])) && (err != nil || width > leastSeen) {
			return
		}
		first, last := count(attributes["min"], grid.MaxColumns), count(attributes["max"], grid.MaxColumns)
		if first = max(1, first); first <= last {
			changes[first]++
			changes[last+1]--
		}
	})
	open := 0
	for column := 1; column <= grid.MaxColumns; column++ {
		if open += changes[column]; open > 0 {
			r.layout.HiddenColumns = append(r.layout.HiddenColumns, column)
		}
	}
	return err
}

// maxMerged is the number of merged ranges that a sheet may have.
const maxMerged = 1 << 20

// readMerged reads the merged ranges.
func (r *sheetReader) readMerged() error {
	var bad error
	err := readList(r.scanner, "mergeCell", func(attributes map[string]string) {
		merged, err := grid.ParseRange(attributes["ref"])
		if err != nil {
			bad = fmt.Errorf("a merged range is wrong: %w", err)
			return
		}
		if len(r.layout.Merged) >= maxMerged {
			bad = fmt.Errorf("the sheet has more than %d merged ranges", maxMerged)
			return
		}
		r.layout.Merge(merged)
	})
	if err == nil {
		err = bad
	}
	return err
}

// sort puts the cells of a row in order that a careless program wrote out of order, and refuses a
// cell that is there twice.
func (r *sheetReader) sort() error {
	slices.SortFunc(r.cells, func(a, b grid.Cell) int { return a.Column - b.Column })
	for i := 1; i < len(r.cells); i++ {
		if r.cells[i].Column == r.cells[i-1].Column {
			return fmt.Errorf("cell %s is there twice: the file is damaged", r.cells[i].Ref(r.row))
		}
	}
	return nil
}
