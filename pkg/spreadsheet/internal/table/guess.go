package table

import (
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
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
