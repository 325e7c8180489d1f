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
	var struck, white []bool // fonts
	var numbers []int
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
			struck, white, err = readFonts(s)
		case "cellXfs":
			err = readList(s, "xf", func(attributes map[string]string) {
				id, _ := strconv.Atoi(attributes["numFmtId"])
				numbers = append(numbers, id)
				font, err := strconv.Atoi(attributes["fontId"])
				known := err == nil && font >= 0 && font < len(struck)
				w.struck = append(w.struck, known && struck[font])
				w.unseen = append(w.unseen, custom[id] == ";;;" || known && white[font] && attributes["fillId"] == "0")
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

// readFonts tells which fonts strike through what is written in them, and which write it white.
func readFonts(s *scanner) (struck, white []bool, err error) {
	for depth := s.depth(); ; {
		if ok, err := s.child(depth); !ok || err != nil {
			return struck, white, err
		}
		is, pale := false, false
		for inner := s.depth(); ; {
			ok, err := s.child(inner)
			if err != nil {
				return struck, white, err
			}
			if !ok {
				break
			}
			line, colour := string(s.name) == "strike", string(s.name) == "color"
			is = is || line
			if err := s.attributes(func(key, value string) {
				is = is && !(line && key == "val" && (value == "0" || value == "false"))
				pale = pale || colour && (key == "rgb" && strings.HasSuffix(strings.ToUpper(value), "FFFFFF") ||
					key == "theme" && value == "0")
			}); err != nil {
				return struck, white, err
			}
		}
		struck, white = append(struck, is), append(white, pale)
	}
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
