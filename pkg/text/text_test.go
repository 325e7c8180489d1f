package text

import (
	"testing"

	"golang.org/x/text/unicode/norm"
)

// The signs that people paste for one another are one, as Unicode's code charts name them.
func TestSign(t *testing.T) {
	for to, from := range map[rune]string{' ': "\u00a0\u2009\t\u3000", '"': "″“”„«»", '\'': "′’´", '-': "–—−‑", '~': "≈∼",
		0: "\u200b\ufeff\u00ad", '<': "≤", '5': "５", '½': "½", '/': "∕"} {
		for _, r := range from {
			if got := Sign(r); got != to {
				t.Errorf("%U: %q, want %q", r, got, to)
			}
		}
	}
}

// A word is folded alike however its letters are composed.
func TestFold(t *testing.T) {
	for _, word := range []string{"FÜNF", "Århundrede", "siècle", "ŻÓŁĆ", "Straße"} {
		whole, apart := string(AppendFold(nil, norm.NFC.String(word))), string(AppendFold(nil, norm.NFD.String(word)))
		if whole != apart {
			t.Errorf("%s: %q and %q", word, whole, apart)
		}
	}
	for folded, want := range map[string]string{"żółć": "zolc", "straße": "strasse", "ærø": "aero", "naïve": "naive",
		"plain": "plain"} {
		if got := string(AppendPlain(nil, []byte(folded))); got != want {
			t.Errorf("%s: %s", folded, got)
		}
	}
}

func TestTable(t *testing.T) {
	var words Table[int]
	for i := range 500 {
		*words.Put(string(rune('a'+i%26)) + string(rune('A'+i/26))) = i
	}
	if v := words.At([]byte("aA")); v == nil || *v != 0 || words.At([]byte("zz")) != nil {
		t.Errorf("%v at aA", v)
	}
	n := 0
	words.All(func(string, *int) { n++ })
	if n != 500 {
		t.Errorf("%d of 500", n)
	}
}

// The pictures of control characters are those of the Unicode block Control Pictures.
func TestVisible(t *testing.T) {
	for in, want := range map[string]string{
		"": "", "bell, ½ été\ttwo\nlines\r": "bell, ½ été\ttwo\nlines\r", "nul\x00": "nul␀", "a\x1b[31mb": "a␛[31mb",
		"\x7f":       "␡",
		"a\u202egpj": "a[U+202E]gpj", "\u200e\u2069\u061c": "[U+200E][U+2069][U+061C]", "\u0085": "[U+0085]",
		"a\u200bb\u0301🔔": "a\u200bb\u0301🔔", "bad\xff": "bad\xff",
	} {
		if got := Visible(in); got != want {
			t.Errorf("Visible(%q) = %q, want %q", in, got, want)
		}
		if HasHidden(in) != (in != want) {
			t.Errorf("HasHidden(%q) = %v", in, !HasHidden(in))
		}
	}
}
