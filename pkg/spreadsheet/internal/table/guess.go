package table

import (
	"bytes"
	"fmt"
	"io"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// guessed are the encodings of one byte a letter that logs are kept in, the most usual first. The words of a text
// tell them apart: Größe is a word, and Grš§e is none.
var guessed = []struct {
	name string
	page *charmap.Charmap
}{
	{"windows-1252", charmap.Windows1252},
	{"macintosh", charmap.Macintosh},
	{"ibm850", charmap.CodePage850},
	{"windows-1250", charmap.Windows1250},
}

// guess is what the words of a text say of its encoding.
type guess struct {
	name string
	word string // one that shows how the text was read
	sure bool
}

// What a word counts for an encoding, and a sign in it that no word has. They are ours, no source.
const (
	pointsKnown = 6
	pointsSign  = -2 // no letter, and letters on both sides
	pointsCase  = -2 // a capital behind a small letter
	pointsRare  = -1 // a letter that the languages of the lists seldom write
	mostWords   = 2000
)

// usualLetters are those beyond a to z that Germanic and Romance languages write; the last encoding has letters of
// its own.
const (
	usualLetters   = "äöüßåæøéèêëàâçîïôûùœñóíúáýþðÄÖÜÅÆØÉÈÊÀÇ"
	centralLetters = "ąćęłńóśźżĄĆĘŁŃÓŚŹŻáčďéěíňřšťúůýžČĎĚŇŘŠŤŮŽőűäöüß"
)

// guessEncoding reads the words beyond ASCII in each encoding.
func guessEncoding(head []byte, known func(string) bool) guess {
	scores := make([]int, len(guessed))
	shown := make([]string, len(guessed))
	sure := make([]bool, len(guessed))
	words := 0
	for _, raw := range foreignWords(head) {
		if words++; words > mostWords {
			break
		}
		for i, g := range guessed {
			word := make([]rune, len(raw))
			for j, b := range raw {
				word[j] = g.page.DecodeByte(b)
			}
			text := string(word)
			score := plausible(word, g.name == "windows-1250")
			if known != nil && known(lower(text)) {
				score += pointsKnown
				if !sure[i] {
					sure[i], shown[i] = true, text
				}
			} else if shown[i] == "" && score == 0 && len(word) > 2 {
				shown[i] = text
			}
			scores[i] += score
		}
	}
	best := 0
	for i := range scores {
		if scores[i] > scores[best] {
			best = i
		}
	}
	g := guess{name: guessed[best].name, word: shown[best], sure: sure[best]}
	for i := range scores {
		if i != best && scores[i] == scores[best] && shown[i] != shown[best] {
			g.sure = false
		}
	}
	return g
}

func lower(s string) string {
	out := []rune(s)
	for i, r := range out {
		out[i] = unicode.ToLower(r)
	}
	return string(out)
}

// foreignWords returns the runs of letters and of bytes beyond ASCII that hold any of these.
func foreignWords(text []byte) (words [][]byte) {
	start, foreign := -1, false
	for i := 0; i <= len(text); i++ {
		if i < len(text) && (text[i] >= utf8.RuneSelf || text[i]|0x20 >= 'a' && text[i]|0x20 <= 'z') {
			if start < 0 {
				start, foreign = i, false
			}
			foreign = foreign || text[i] >= utf8.RuneSelf
			continue
		}
		if start >= 0 && foreign {
			words = append(words, text[start:i])
		}
		start = -1
	}
	return words
}

// plausible counts what speaks against a word.
func plausible(word []rune, central bool) int {
	usual := usualLetters
	if central {
		usual = centralLetters
	}
	score := 0
	for i, r := range word {
		if r < utf8.RuneSelf {
			continue
		}
		between := i > 0 && i < len(word)-1 && unicode.IsLetter(word[i-1]) && unicode.IsLetter(word[i+1])
		switch {
		case !unicode.IsLetter(r) && (between && r != '’' || r >= 0x2500 && r < 0x25A0 || r < 0xA0 || r == utf8.RuneError):
			score += pointsSign
		case !unicode.IsLetter(r):
		case unicode.IsUpper(r) && i > 0 && unicode.IsLower(word[i-1]):
			score += pointsCase
		case !contains(usual, r):
			score += pointsRare
		}
	}
	return score
}

func contains(letters string, r rune) bool {
	for _, l := range letters {
		if l == r {
			return true
		}
	}
	return false
}

// sepLine looks for a first line such as sep=; by which spreadsheets are told the separator. It
// returns the length of the line and the separator, or 0.
func sepLine(head []byte) (length int, comma byte) {
	end := bytes.IndexAny(head, "\r\n")
	length = end + 1
	switch {
	case end < 0:
		end, length = len(head), len(head)
	case head[end] == '\r' && end+1 < len(head) && head[end+1] == '\n':
		length++
	}
	line := head[:end]
	if n := len(line); n >= 2 && line[0] == '"' && line[n-1] == '"' {
		line = line[1 : n-1]
	}
	if len(line) != len("sep=;") || !bytes.EqualFold(line[:4], []byte("sep=")) || !isComma(rune(line[4])) {
		return 0, 0
	}
	return length, line[4]
}

// trial is how many records are looked at to find the separator.
const trial = 50

// candidates are the separators that are looked for, the most usual first.
var candidates = []byte{',', ';', '\t', '|'}

// seldom are those that are taken only where none of these is, and all of the first records have as many.
var seldom = []byte{'^', '~', '#'}

// findComma returns the separator that cuts most of the first records into the same number of fields,
// two at least; among equals the one that makes more fields. It says in words what it found.
func findComma(head []byte, complete bool) (comma byte, note string) {
	best, bestShare, bestFields := byte(','), 0.0, 1
	for _, c := range candidates {
		share, fields := constancy(head, complete, c)
		if share > bestShare || share == bestShare && fields > bestFields {
			best, bestShare, bestFields = c, share, fields
		}
	}
	for _, c := range seldom {
		if share, fields := constancy(head, complete, c); bestFields < 2 && share == 1 && fields > 2 {
			best, bestShare, bestFields = c, share, fields
		}
	}
	if bestFields < 2 {
		return ',', "no separator was found, so the file was taken for one column"
	}
	if bestShare < 1 {
		return best, fmt.Sprintf("the separator was taken for %s: %.0f%% of the first records have %d fields with it",
			commaName(best), 100*bestShare, bestFields)
	}
	return best, fmt.Sprintf("the separator was taken for %s: the first records have %d fields with it", commaName(best),
		bestFields)
}

// sure is the share of the first records that must have one number of fields for it to be expected of all.
const sure = 0.6

// fieldsOf returns how many fields most records have, 0 if they have not.
func fieldsOf(head []byte, complete bool, comma byte) int {
	share, fields := constancy(head, complete, comma)
	if share < sure {
		return 0
	}
	return fields
}

// constancy returns how many of the first records, from 0 to 1, have the most frequent number of
// fields, and that number. It is 0 when most records have one field only.
func constancy(head []byte, complete bool, comma byte) (share float64, fields int) {
	limits := grid.Limits{}.WithDefaults()
	r := newRecords(bytes.NewReader(head), comma, limits)
	counts := make(map[int]int)
	total, last := 0, 0
	for total < trial {
		_, err := r.next()
		if err != nil {
			// The last record of an incomplete head is cut, and says nothing.
			if !complete && err == io.EOF && total > 1 {
				counts[last]--
				total--
			}
			break
		}
		if r.fields == 1 && r.blank {
			continue
		}
		last = r.fields
		counts[last]++
		total++
	}
	for n, times := range counts {
		if s := float64(times) / float64(max(1, total)); n > 1 && (s > share || s == share && n > fields) {
			share, fields = s, n
		}
	}
	return share, fields
}
