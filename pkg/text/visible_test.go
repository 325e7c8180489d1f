package text

import "testing"

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
