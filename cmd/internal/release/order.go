package release

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
)

// memberOrder returns the names of the members of every object in a JSON text, in their order, by the JSON
// Pointer of the object: in the schemas the order is that of canonical JSON.
func memberOrder(text []byte) (map[string][]string, error) {
	out := map[string][]string{}
	dec := json.NewDecoder(bytes.NewReader(text))
	if err := orderOf(dec, "", out); err != nil {
		return nil, err
	}
	if _, err := dec.Token(); err != io.EOF {
		return nil, fmt.Errorf("there is more than one JSON value")
	}
	return out, nil
}

func orderOf(dec *json.Decoder, at string, out map[string][]string) error {
	token, err := dec.Token()
	if err != nil {
		return err
	}
	delim, ok := token.(json.Delim)
	if !ok {
		return nil
	}
	for i := 0; dec.More(); i++ {
		name := fmt.Sprint(i)
		if delim == '{' {
			token, err := dec.Token()
			if err != nil {
				return err
			}
			name = fmt.Sprint(token)
			out[at] = append(out[at], name)
		}
		if err := orderOf(dec, at+"/"+name, out); err != nil {
			return err
		}
	}
	_, err = dec.Token()
	return err
}
