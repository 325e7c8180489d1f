package workbook

import "github.com/findslip/findslip/pkg/spreadsheet/internal/grid"

// sharedTexts returns the list of texts that cells refer to by number, and reads it when it is first
// wanted.
func (w *workbook) sharedTexts() ([]string, error) {
	if w.loaded || w.sharedPart == "" {
		return w.shared, nil
	}
	list := textList{limits: w.limits}
	if err := w.readPart(w.sharedPart, list.read); err != nil {
		return nil, err
	}
	w.shared, w.loaded = list.texts, true
	return w.shared, nil
}

// textList gathers texts in few large pieces: a piece is one string, and each text a slice of it.
type textList struct {
	limits grid.Limits
	texts  []string
	piece  []byte
	ends   []int // of the texts in piece
}

const pieceSize = 256 << 10

func (l *textList) read(s *scanner) error {
	if err := s.root("sst"); err != nil {
		return err
	}
	for depth := s.depth(); ; {
		ok, err := s.child(depth)
		if err != nil {
			return err
		}
		if !ok {
			l.flush()
			return nil
		}
		if string(s.name) != "si" {
			continue
		}
		if n := int64(len(l.texts) + len(l.ends)); n >= l.limits.SharedStrings {
			return &grid.LimitError{Limit: "texts", Value: n + 1, Max: l.limits.SharedStrings}
		}
		start := len(l.piece)
		if l.piece, err = appendRich(l.piece, s, l.limits.CellLength); err != nil {
			return err
		}
		l.piece = l.piece[:start+len(unescape(l.piece[start:]))]
		l.ends = append(l.ends, len(l.piece))
		if len(l.piece) >= pieceSize {
			l.flush()
		}
	}
}

func (l *textList) flush() {
	piece := string(l.piece)
	start := 0
	for _, end := range l.ends {
		l.texts = append(l.texts, piece[start:end])
		start = end
	}
	l.piece, l.ends = l.piece[:0], l.ends[:0]
}

// appendRich appends the text of the element just started, an "si" or an "is": that of its "t" and of
// the "t" of its runs "r", and not that of the phonetic runs "rPh" (ISO/IEC 29500-1 clause 18.4).
// Blanks at the ends are kept whatever xml:space says, so nothing that was typed is lost.
func appendRich(dst []byte, s *scanner, longest int64) ([]byte, error) {
	start := len(dst)
	for depth := s.depth(); ; {
		ok, err := s.child(depth)
		if !ok || err != nil {
			return dst, err
		}
		switch string(s.name) {
		case "t":
			if dst, err = appendElement(dst, start, s, longest); err != nil {
				return dst, err
			}
		case "r":
			for run := s.depth(); ; {
				ok, err := s.child(run)
				if err != nil {
					return dst, err
				}
				if !ok {
					break
				}
				if string(s.name) == "t" {
					if dst, err = appendElement(dst, start, s, longest); err != nil {
						return dst, err
					}
				}
			}
		}
	}
}

// appendElement appends the text of the element just started. The cell's text began at start.
func appendElement(dst []byte, start int, s *scanner, longest int64) ([]byte, error) {
	for depth := s.depth(); ; {
		t, err := s.next()
		if err != nil {
			return dst, err
		}
		switch {
		case t == textRun && s.depth() == depth:
			if dst, err = appendText(dst, s.text, s.cdata); err != nil {
				return dst, err
			}
			if n := int64(len(dst) - start); n > longest {
				return dst, &grid.LimitError{Limit: "cell", Value: n, Max: longest}
			}
		case t == endTag && s.depth() < depth:
			return dst, nil
		}
	}
}
