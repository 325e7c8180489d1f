package workbook

import (
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
	var struck []bool // fonts
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
			struck, err = readStruck(s)
		case "cellXfs":
			err = readList(s, "xf", func(attributes map[string]string) {
				id, _ := strconv.Atoi(attributes["numFmtId"])
				numbers = append(numbers, id)
				font, err := strconv.Atoi(attributes["fontId"])
				w.struck = append(w.struck, err == nil && font >= 0 && font < len(struck) && struck[font])
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

// readStruck tells which fonts strike through what is written in them.
func readStruck(s *scanner) (struck []bool, err error) {
	for depth := s.depth(); ; {
		if ok, err := s.child(depth); !ok || err != nil {
			return struck, err
		}
		is := false
		for inner := s.depth(); ; {
			ok, err := s.child(inner)
			if err != nil {
				return struck, err
			}
			if !ok {
				break
			}
			if string(s.name) != "strike" {
				continue
			}
			is = true
			if err := s.attributes(func(key, value string) {
				is = is && !(key == "val" && (value == "0" || value == "false"))
			}); err != nil {
				return struck, err
			}
		}
		struck = append(struck, is)
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
