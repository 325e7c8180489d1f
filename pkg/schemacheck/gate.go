package schemacheck

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

// gateLimits bound what the gate lets through. A zero member takes its default; a negative one
// means no limit, except for Depth and NumberBytes, which always have one.
type gateLimits struct {
	RecordBytes int // size of one record; 1 MiB
	Depth       int // objects and lists within each other; 64
	NumberBytes int // digits and signs of one number; 64
}

const (
	defaultRecordBytes = 1 << 20
	defaultDepth       = 64
	defaultNumberBytes = 64
	largestExponent    = 308 // of the numbers that IEEE 754 double precision can hold
)

func (l gateLimits) filled() gateLimits {
	if l.RecordBytes == 0 {
		l.RecordBytes = defaultRecordBytes
	}
	if l.Depth <= 0 {
		l.Depth = defaultDepth
	}
	if l.NumberBytes <= 0 {
		l.NumberBytes = defaultNumberBytes
	}
	return l
}

// GateError says why the gate refused a JSON text and where. It never quotes what the text says.
type GateError struct {
	Kind    *notice.Kind // one of the json-* kinds
	Offset  int64        // byte at which the fault was seen, from 0
	Pointer string       // JSON Pointer of the place, as far as it is known
	Detail  string       // what is wrong
}

// Error returns one line: the place and what is wrong.
func (e *GateError) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: byte %d", e.Kind.Code, e.Offset)
	if e.Pointer != "" {
		b.WriteString(" at " + e.Pointer)
	}
	b.WriteString(": " + e.Detail)
	return b.String()
}

// Notice returns what the gate has to say as a notice.
func (e *GateError) Notice() notice.Notice {
	return notice.New(e.Kind, e.Pointer, fmt.Sprintf("%s, at byte %d", e.Detail, e.Offset))
}

// gate reports whether raw is one JSON value that every reader takes the same way (I-JSON, RFC 7493)
// and that no later step can choke on: valid UTF-8, no name twice in one object, no lone surrogate,
// bounded depth, numbers within double precision, bounded size. It returns nil when it is.
func gate(raw []byte, lim gateLimits) *GateError {
	lim = lim.filled()
	if lim.RecordBytes > 0 && len(raw) > lim.RecordBytes {
		return &GateError{Kind: &kinds.JsonTooLarge, Offset: int64(lim.RecordBytes),
			Detail: fmt.Sprintf("the record has %d bytes; at most %d are read", len(raw), lim.RecordBytes)}
	}
	if bytes.HasPrefix(raw, []byte("\xef\xbb\xbf")) {
		return &GateError{Kind: &kinds.JsonSyntax, Detail: "a byte order mark stands before the JSON"}
	}
	dec := jsontext.NewDecoder(bytes.NewBuffer(raw))
	if refused := readOne(dec, lim); refused != nil {
		return refused.explain(raw)
	}
	if _, err := dec.ReadToken(); !errors.Is(err, io.EOF) {
		return &GateError{Kind: &kinds.JsonSyntax, Offset: dec.InputOffset(),
			Detail: "something follows after the end of the JSON value"}
	}
	return nil
}

// refusal is what stopped the reading: an error of the decoder, or a GateError ready to be told.
type refusal struct {
	err  error
	told *GateError
	at   int64 // where the decoder stood
}

// readOne reads one JSON value token by token; nil means that it is well.
func readOne(dec *jsontext.Decoder, lim gateLimits) *refusal {
	for {
		if dec.PeekKind() == '0' {
			literal, err := dec.ReadValue()
			if err != nil {
				return &refusal{err: err, at: dec.InputOffset()}
			}
			if detail := badNumber(literal, lim.NumberBytes); detail != "" {
				return &refusal{told: &GateError{Kind: &kinds.JsonNumberOutOfRange, Offset: dec.InputOffset() - int64(len(literal)),
					Pointer: shorten(string(dec.StackPointer())), Detail: detail}}
			}
		} else if _, err := dec.ReadToken(); err != nil {
			return &refusal{err: err, at: dec.InputOffset()}
		}
		depth := dec.StackDepth()
		if depth > lim.Depth {
			return &refusal{told: &GateError{Kind: &kinds.JsonTooLarge, Offset: dec.InputOffset() - 1,
				Pointer: shorten(string(dec.StackPointer())),
				Detail:  limit.Over("nesting", int64(lim.Depth)).Error()}}
		}
		if depth == 0 {
			return nil
		}
	}
}

// explain finds the kind of a refusal by looking at the bytes where the decoder stopped, because
// the texts of its errors may change.
func (r *refusal) explain(raw []byte) *GateError {
	if r.told != nil {
		return r.told
	}
	e := &GateError{Kind: &kinds.JsonSyntax, Offset: r.at, Detail: "this is not JSON"}
	var syntactic *jsontext.SyntacticError
	if errors.As(r.err, &syntactic) {
		e.Offset, e.Pointer = syntactic.ByteOffset, shorten(string(syntactic.JSONPointer))
	}
	rest := raw[min(max(e.Offset, 0), int64(len(raw))):]
	first, size := utf8.DecodeRune(rest)
	switch {
	case errors.Is(r.err, jsontext.ErrDuplicateName):
		e.Kind, e.Detail = &kinds.JsonDuplicateName, "one object has two members of the same name"
	case len(bytes.TrimSpace(raw)) == 0:
		e.Detail = "there is nothing here"
	case len(rest) == 0 || errors.Is(r.err, io.ErrUnexpectedEOF):
		e.Detail = "the JSON ends too early, as if it had been cut off"
	case first == utf8.RuneError && size == 1:
		e.Kind, e.Detail = &kinds.JsonTextDamaged, "this is not UTF-8 text"
	case surrogateEscape(rest):
		e.Kind, e.Detail = &kinds.JsonTextDamaged, "one half of a surrogate pair stands alone"
	}
	return e
}

// surrogateEscape reports whether the text begins with an escape from \uD800 to \uDFFF.
func surrogateEscape(b []byte) bool {
	return len(b) >= 6 && b[0] == '\\' && b[1] == 'u' && (b[2] == 'd' || b[2] == 'D') &&
		strings.IndexByte("89abcdefABCDEF", b[3]) >= 0
}

// badNumber says what is wrong with a number literal that is valid JSON, or nothing. The exponent is
// looked at before anything counts with it: 1e10000000 would cost seconds or stop the schema engine.
func badNumber(literal []byte, most int) string {
	if len(literal) > most {
		return fmt.Sprintf("the number has %d digits and signs; at most %d are read", len(literal), most)
	}
	text := string(literal)
	if i := strings.IndexAny(text, "eE"); i >= 0 {
		exponent, err := strconv.Atoi(text[i+1:])
		if err != nil || exponent > largestExponent || exponent < -largestExponent {
			return "the exponent of the number is out of range"
		}
	}
	if f, err := strconv.ParseFloat(text, 64); err != nil || math.IsInf(f, 0) {
		return "the number is too large"
	}
	return ""
}

// shorten keeps a pointer from filling the screen when the names in it are very long.
func shorten(pointer string) string {
	const most = 500
	if len(pointer) <= most {
		return pointer
	}
	cut := strings.LastIndexByte(pointer[:most], '/')
	return pointer[:max(cut, 0)]
}
