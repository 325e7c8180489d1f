package share

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/coordinate"
)

// nearest returns a position within metres of a point.
func nearest(list []place, p coordinate.Point, metres float64) (place, bool) {
	slack := metres / 110_000 // a degree of latitude is longer than that
	for _, x := range within2(list, p.Latitude-slack, p.Latitude+slack) {
		if coordinate.Distance(p, x.point) < metres {
			return x, true
		}
	}
	return place{}, false
}

// A piece is a stretch of a text without blanks that may be part of a position.
type piece struct {
	at, to int
	digits int  // in it
	ends   bool // a position may end with it
}

// wayWords may stand within a position beside figures; package coordinate knows which mean what.
var wayWords = func() map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(`north south east west northing easting northings eastings latitude longitude nord sud süd est ouest noord zuid oost west syd öst väst øst vest
 breite länge rechtswert hochwert breedte lengte largeur latitud longitud zone utm mgrs utmref wgs epsg geo osgb osgb36 etrs etrs89 itm rd lambert sweref deg min sec grad minuten sekunden rechts hoch`) {
		out[w] = true
	}
	return out
}()

// piecesOf takes a text apart into stretches that may be part of a position. What cannot be ends a
// row of them and is left out.
func piecesOf(text string) (rows [][]piece) {
	var row []piece
	end := func() {
		if len(row) > 0 {
			rows = append(rows, row)
			row = nil
		}
	}
	last := 0
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		if !pieceRune(r) {
			i += size
			continue
		}
		p := piece{at: i}
		letters := 0
		for i < len(text) {
			r, size = utf8.DecodeRuneInString(text[i:])
			if !pieceRune(r) {
				break
			}
			switch {
			case r >= '0' && r <= '9':
				p.digits++
			case unicode.IsLetter(r):
				letters++
			}
			i += size
		}
		p.to = i
		if p.at-last > 3 {
			end()
		}
		last = p.to
		if p.digits == 0 && letters > 3 && !wayWords[strings.ToLower(strings.Trim(text[p.at:p.to], `.,'":`))] {
			end()
			continue
		}
		p.ends = p.digits > 0 || letters > 0
		row = append(row, p)
	}
	end()
	return rows
}

func pieceRune(r rune) bool {
	if r < utf8.RuneSelf {
		return r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || strings.IndexByte(`.,'"+-`,
			byte(r)) >= 0
	}
	return unicode.IsLetter(r) || strings.ContainsRune("°º˚′″’´”", r)
}

// Bounds of a spelling: pieces and bytes, and the digits it needs to tell anything.
const (
	mostPieces   = 8
	mostBytes    = 60
	fewestDigits = 4
)

// spellings reads every run of words that could be a position, in any spelling that package
// coordinate knows, and compares it with the positions of the source.
func (s *secrets) spellings(text string, add func(kind, member string, at, to int)) {
	read := map[string]string{} // runs to members: a log says many things twice
	for _, row := range piecesOf(text) {
		for i := range row {
			if s.stopped() {
				return
			}
			digits := 0
			for j := i; j < len(row) && j < i+mostPieces && row[j].to-row[i].at <= mostBytes; j++ {
				if digits += row[j].digits; digits < fewestDigits || !row[j].ends {
					continue
				}
				run := strings.Trim(text[row[i].at:row[j].to], `"',`)
				member, known := read[run]
				if !known {
					member = s.spelt(run)
					read[run] = member
				}
				if member != "" {
					add("grid-reference", member, row[i].at, row[j].to)
				}
			}
		}
	}
}

// spelt reads a run and returns the member of the position that it tells, empty for none.
func (s *secrets) spelt(run string) string {
	if len(run) < 5 || s.allowedRun(run) {
		return ""
	}
	r, err := coordinate.Normalise(run, coordinate.Options{})
	if err != nil || r.Absent != "" || r.Uncertainty > nearPublic {
		return ""
	}
	if _, own := nearest(s.shownAt, r.Point, s.near); own {
		return ""
	}
	if x, ok := nearest(s.points, r.Point, s.near); ok {
		return s.memberOf(x.of)
	}
	return ""
}

// allowedRun tells a run made only of figures that the copy gives as its own.
func (s *secrets) allowedRun(run string) bool {
	for _, w := range strings.FieldsFunc(run, func(r rune) bool { return r == ' ' || r == ',' }) {
		if !s.allowed(w) {
			return false
		}
	}
	return true
}
