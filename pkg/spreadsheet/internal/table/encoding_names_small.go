//go:build findslip_small

package table

import (
	"errors"
	"strings"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// A small build knows the encodings that tables of western Europe come in, by the names and labels of
// the Encoding Standard of the WHATWG.
var small = []struct {
	name, labels string
	encoding     encoding.Encoding
}{
	{"utf-8", "utf8 unicode-1-1-utf-8", unicode.UTF8},
	{"utf-16le", "utf-16 ucs-2 iso-10646-ucs-2", unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)},
	{"utf-16be", "unicodefffe", unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)},
	{"windows-1252", "cp1252 x-cp1252 iso-8859-1 iso8859-1 iso_8859-1 latin1 l1 ascii us-ascii", charmap.Windows1252},
	{"windows-1250", "cp1250 x-cp1250", charmap.Windows1250},
	{"iso-8859-2", "iso8859-2 iso_8859-2 latin2 l2", charmap.ISO8859_2},
	{"iso-8859-15", "iso8859-15 iso_8859-15 l9", charmap.ISO8859_15},
	{"macintosh", "mac x-mac-roman csmacintosh", charmap.Macintosh},
}

func encodingNamed(name string) (encoding.Encoding, error) {
	name = strings.ToLower(strings.TrimSpace(name))
	for _, e := range small {
		for _, label := range strings.Fields(e.name + " " + e.labels) {
			if label == name {
				return e.encoding, nil
			}
		}
	}
	return nil, errors.New("no such encoding in a small build")
}

func nameOf(asked encoding.Encoding) (string, error) {
	for _, e := range small {
		if e.encoding == asked {
			return e.name, nil
		}
	}
	return "", errors.New("no such encoding in a small build")
}
