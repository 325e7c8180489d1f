package validate

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

var damageRules = []*Rule{numberDamaged, noughtsLost, textDamaged, textCut}

// eachText visits the words of a find that people write freely, with the cells of columns that no
// field understands.
func eachText(f *find.Find, visit func(pointer, text string)) {
	visit("/name", f.Name)
	visit("/description", f.Description)
	visit("/notes", f.Notes)
	visit("/type", f.Type)
	if p := f.Place; p != nil {
		visit("/place/name", p.Name)
		visit("/place/parish", p.Parish)
		visit("/place/verbatim", p.Verbatim)
	}
	if f.Dating != nil {
		visit("/dating/verbatim", f.Dating.Verbatim)
	}
	for i := range f.Marks {
		if text := f.Marks[i].Text; text != "" {
			visit("/marks/"+strconv.Itoa(i)+"/text", text)
		}
	}
	for i := range f.Materials {
		if text := f.Materials[i].Verbatim; !ascii(text) {
			visit("/materials/"+strconv.Itoa(i), text)
		}
	}
	var few [16]string
	for _, heading := range find.SortedKeys(few[:0], f.Columns) {
		if !strings.Contains(heading, "(before repair") {
			visit("/columns/"+notice.Escape(heading), f.Columns[heading])
		}
	}
}

func ascii(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// Undamaged undoes UTF-8 that was once, or more than once, read as Windows-1252 or ISO 8859-1. False
// where the text does not look like that.
func Undamaged(text string) (string, bool) {
	mended := text
	for range 3 {
		if ascii(mended) {
			break
		}
		raw := make([]byte, 0, len(mended))
		for _, r := range mended {
			if r < 0x100 {
				raw = append(raw, byte(r))
				continue
			}
			b, ok := charmap.Windows1252.EncodeRune(r)
			if !ok {
				return mended, mended != text
			}
			raw = append(raw, b)
		}
		if !utf8.Valid(raw) {
			break
		}
		mended = string(raw)
	}
	return mended, mended != text
}

var textDamaged = &Rule{
	Kind: kinds.TextDamaged,
	Check: func(c *Case, say Say) {
		eachText(c.Find, func(pointer, text string) {
			if ascii(text) {
				return
			}
			if strings.ContainsRune(text, utf8.RuneError) {
				say(pointer, "a letter was lost when the file was read in the wrong encoding")
			} else if _, damaged := Undamaged(text); damaged {
				say(pointer, "the letters look as if they were once read in the wrong encoding")
			}
		})
	},
}

var textCut = &Rule{
	Kind: kinds.TextCut,
	Check: func(c *Case, say Say) {
		eachText(c.Find, func(pointer, text string) {
			if len(text) < 255 {
				return
			}
			if n := utf8.RuneCountInString(text); n == 255 || n == 32767 {
				say(pointer, fmt.Sprintf("the text has exactly %d characters, where programs cut", n))
			}
		})
	},
}

var numberDamaged = &Rule{
	Kind: kinds.NumberDamaged,
	Check: func(c *Case, say Say) {
		f := c.Find
		look := func(pointer, text string) {
			switch {
			case scientific(text):
				say(pointer, "it was turned into a power of ten, and its last digits are lost")
			case rounded(text):
				say(pointer, "it has more than 15 digits and ends in noughts, as a spreadsheet rounds")
			}
		}
		look("/number", f.Number)
		for i := range f.OtherNumbers {
			look("/otherNumbers/"+strconv.Itoa(i)+"/number", f.OtherNumbers[i].Number)
		}
		for i := range f.Notified {
			look("/notified/"+strconv.Itoa(i)+"/caseNumber", f.Notified[i].CaseNumber)
		}
	},
}

// scientific reports whether a text has the form 2.5E+11.
func scientific(s string) bool {
	at := strings.IndexAny(s, "eE")
	if at < 1 || at == len(s)-1 {
		return false
	}
	digitsAlone := func(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
	power := s[at+1:]
	if !strings.HasPrefix(power, "+") {
		return false // 2E3 may be a row and a bag
	}
	head, tail, parted := strings.Cut(strings.Replace(s[:at], ",", ".", 1), ".")
	return len(head) == 1 && digitsAlone(head) && (!parted || digitsAlone(tail)) && digitsAlone(power[1:])
}

// rounded reports whether a number has more digits than a double holds and zeros for the rest.
func rounded(s string) bool {
	return len(s) > 16 && strings.Trim(s, "0123456789") == "" && strings.Trim(s[15:], "0") == ""
}

var noughtsLost = &Rule{
	Kind: kinds.NoughtsLost,
	Across: func() Across {
		var width, padded, plain int
		mixed := false
		var byLength [16]int // plain numbers
		return Across{
			Find: func(c *Case, _ Ref, _ Say) {
				n := c.Find.Number
				if n == "" || len(n) >= len(byLength) || strings.Trim(n, "0123456789") != "" {
					return
				}
				if n[0] != '0' || len(n) == 1 {
					byLength[len(n)]++
					plain++
					return
				}
				padded++
				mixed = mixed || width != 0 && width != len(n)
				width = len(n)
			},
			End: func(c *Case, say SayOf) {
				short := 0
				for i := range width {
					short += byLength[i]
				}
				if padded >= 2 && !mixed && short > 0 {
					say(reportRef, "", fmt.Sprintf("%d numbers have %d digits and begin with a zero, and %d are shorter", padded,
						width, short))
				}
			},
		}
	},
}

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
