package find

import (
	"bytes"

	"github.com/findslip/findslip/pkg/limit"
)

// tooManyValues reports whether a JSON text has more values than the limit of the name allows. What is
// made of a value can be a hundred times longer than it: {} is a whole term, and draws a notice.
func tooManyValues(raw []byte, name string, most int64) *limit.Error {
	if int64(bytes.Count(raw, comma)) < most { // those in texts are counted with them, which is quick
		return nil
	}
	values := int64(1)
	for i := 0; i < len(raw); i++ {
		switch raw[i] {
		case ',':
			values++
		case '"':
			for i++; i < len(raw) && raw[i] != '"'; i++ {
				if raw[i] == '\\' {
					i++
				}
			}
		}
	}
	if values > most {
		return limit.Over(name, most)
	}
	return nil
}

var comma = []byte{','}

// CheckHeader reports whether the JSON of a report without its finds has more values than the limit
// HeaderValues allows.
func CheckHeader(raw []byte, limits limit.Limits) error {
	if over := tooManyValues(raw, "header-values", limits.WithDefaults().HeaderValues); over != nil {
		return TooLarge("json-too-large", 0, over)
	}
	return nil
}
