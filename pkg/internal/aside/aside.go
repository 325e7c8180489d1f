// Package aside reads the small JSON files that people write beside a report, such as column maps and
// proposals, and says in plain words what is wrong with one.
package aside

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"reflect"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// Read reads a file into what v points to. A member that v has no place for is an error.
func Read(raw []byte, v any) error {
	return explained(raw, json.Unmarshal(raw, v, json.RejectUnknownMembers(true)))
}

// ReadSome reads those members of a file that v has a place for.
func ReadSome(raw []byte, v any) error { return explained(raw, json.Unmarshal(raw, v)) }

// explained says an error of the JSON library in plain words.
func explained(raw []byte, err error) error {
	var syntax *jsontext.SyntacticError
	var semantic *json.SemanticError
	switch {
	case err == nil:
		return nil
	case len(bytes.TrimSpace(raw)) == 0:
		return errors.New("the file is empty")
	case errors.Is(err, io.ErrUnexpectedEOF):
		return fmt.Errorf("line %d: the file ends in the middle", line(raw, int64(len(raw))))
	case errors.Is(err, json.ErrUnknownName) && errors.As(err, &semantic):
		return fmt.Errorf("line %d: the member %.40q is not known here", line(raw, semantic.ByteOffset),
			semantic.JSONPointer.LastToken())
	case errors.Is(err, jsontext.ErrDuplicateName) && errors.As(err, &syntax):
		return fmt.Errorf("line %d: the member %.40q stands twice", line(raw, syntax.ByteOffset),
			syntax.JSONPointer.LastToken())
	case errors.As(err, &syntax):
		return fmt.Errorf("line %d: this is not JSON; look for a bracket, a comma or a quotation mark that is missing or "+
			"too many", line(raw, syntax.ByteOffset))
	case errors.As(err, &semantic) && semantic.JSONPointer == "":
		return fmt.Errorf("the file is %s, and %s is wanted", stands(semantic.JSONKind), wanted(semantic.GoType))
	case errors.As(err, &semantic):
		return fmt.Errorf("line %d: at %.80q stands %s, and %s is wanted", line(raw, semantic.ByteOffset),
			string(semantic.JSONPointer), stands(semantic.JSONKind), wanted(semantic.GoType))
	}
	return err
}

func line(raw []byte, at int64) int {
	return 1 + bytes.Count(raw[:min(max(at, 0), int64(len(raw)))], []byte("\n"))
}

// stands says what a value of JSON is.
func stands(k jsontext.Kind) string {
	switch k {
	case '"':
		return "a text"
	case '0':
		return "a number"
	case '{':
		return "an object"
	case '[':
		return "a list"
	case 't', 'f':
		return "true or false"
	case 'n':
		return "null"
	}
	return "something"
}

// wanted says what would be taken.
func wanted(t reflect.Type) string {
	for t != nil && t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t == nil {
		return "something else"
	}
	switch k := t.Kind(); {
	case k == reflect.String:
		return "a text in quotation marks"
	case k == reflect.Bool:
		return "true or false"
	case k == reflect.Slice:
		return "a list between [ and ]"
	case k == reflect.Struct, k == reflect.Map:
		return "an object between { and }"
	case k >= reflect.Int && k <= reflect.Uint64:
		return "a whole number"
	case k == reflect.Float64:
		return "a number"
	}
	return "something else"
}
