package table

import (
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/htmlindex"
)

// encodingNamed returns the encoding with a name of the Encoding Standard of the WHATWG.
func encodingNamed(name string) (encoding.Encoding, error) { return htmlindex.Get(name) }

// nameOf returns the name by which the standard calls an encoding.
func nameOf(e encoding.Encoding) (string, error) { return htmlindex.Name(e) }
