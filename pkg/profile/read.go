package profile

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/schemacheck"
	"github.com/findslip/findslip/schema"
)

// Ending is how the name of a profile ends.
const Ending = ".findslip-profile.json"

// Bounds of what is read.
const (
	mostBytes = 4 << 20
	mostChain = 8  // profiles that are based on each other
	mostDeep  = 10 // conditions within each other
)

// A Source returns the bytes of a profile by its plain name.
type Source func(name string) ([]byte, error)

// Folder is the files of a folder as a source.
func Folder(files fs.FS) Source {
	return func(name string) ([]byte, error) {
		f, err := files.Open(name)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		if info, err := f.Stat(); err != nil || !info.Mode().IsRegular() {
			return nil, errors.New("it is no plain file")
		}
		return limit.ReadAll(f, "side", mostBytes)
	}
}

// file is a profile as it was read, with the lines of its parts.
type file struct {
	Profile
	name  string
	raw   []byte
	lines map[string]int
}

// say makes a notice at a place of the file.
func (f *file) say(k *notice.Kind, pointer, message string) notice.Notice {
	n := notice.New(k, pointer, message)
	n.File = f.name
	for at := pointer; n.Line == 0; at = at[:max(strings.LastIndexByte(at, '/'), 0)] {
		if n.Line = f.lines[at]; at == "" {
			break
		}
	}
	return n
}

// parse reads one file. A file that is not built as a profile is has notices and no content.
func parse(name string, raw []byte) (*file, notice.List) {
	f := &file{name: name, raw: raw}
	if len(raw) > mostBytes {
		return f, notice.List{f.say(&kinds.ProfileShape, "", fmt.Sprintf("the file has more than %d bytes", mostBytes))}
	}
	raw = bytes.TrimPrefix(raw, []byte("\ufeff"))
	schemas, err := schemacheck.New()
	if err != nil {
		return f, notice.List{f.say(&kinds.ProfileShape, "", err.Error())}
	}
	faults, err := schemas.Document(raw, "profile")
	var gate *schemacheck.GateError
	if errors.As(err, &gate) {
		n := f.say(&kinds.ProfileShape, gate.Pointer, gate.Detail)
		n.Line = 1 + bytes.Count(raw[:min(max(int(gate.Offset), 0), len(raw))], []byte("\n"))
		return f, notice.List{n}
	}
	if err != nil {
		return f, notice.List{f.say(&kinds.ProfileShape, "", err.Error())}
	}
	f.lines = linesOf(raw) // what the gate lets pass is not deep
	var list notice.List
	for _, fault := range faults[:min(len(faults), 50)] {
		n := f.say(&kinds.ProfileShape, fault.Pointer, fault.Message)
		n.Help = fault.Help
		list.Add(n)
	}
	if len(list) > 0 {
		return f, list
	}
	if err := f.take(raw); err != nil {
		return f, notice.List{f.say(&kinds.ProfileShape, "", "it cannot be read as a profile")}
	}
	return f, nil
}

// take reads the content.
func (f *file) take(raw []byte) error {
	if err := json.Unmarshal(raw, &f.Profile); err != nil {
		return err
	}
	for _, a := range f.Asks {
		a.When.compile()
	}
	if f.Covers != nil {
		f.Covers.When.compile()
	}
	for i := range f.Waivers {
		f.Waivers[i].When.compile()
	}
	return nil
}

// Parse reads a profile alone, without those that it is based on: as it was written. One that is not built as a
// profile is has notices.
func Parse(name string, raw []byte) (*Profile, notice.List) {
	f, list := parse(name, raw)
	return &f.Profile, list
}

// linesOf returns the line on which each part of a JSON text begins, by pointer.
func linesOf(raw []byte) map[string]int {
	out := map[string]int{"": 1}
	dec := jsontext.NewDecoder(bytes.NewReader(raw))
	line, at := 1, int64(0)
	for {
		if _, err := dec.ReadToken(); err != nil {
			return out
		}
		pointer := string(dec.StackPointer())
		end := min(dec.InputOffset(), int64(len(raw)))
		line += bytes.Count(raw[at:end], []byte("\n"))
		at = end
		if out[pointer] == 0 && len(out) < 100_000 {
			out[pointer] = line
		}
	}
}

// Sum returns the SHA-256 sum by which a profile is named as a base.
func Sum(raw []byte) string {
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:])
}

// Load reads a profile and those that it is based on, from the same source or from those that are shipped, and
// returns what results, with what is to be said of it: a profile with an error among its notices is not to be used,
// and is nil. An error means that the file itself could not be read.
func Load(name string, from Source, known Known) (*Effective, notice.List, error) {
	raw, err := from(name)
	if err != nil {
		return nil, nil, fmt.Errorf("reading the profile %s: %w", name, err)
	}
	return load(filepath.Base(filepath.ToSlash(name)), raw, from, known)
}

func load(name string, raw []byte, from Source, known Known) (*Effective, notice.List, error) {
	first, list := parse(name, raw)
	chain := []*file{first}
	for f := first; len(list) == 0 && f.BasedOn != nil; {
		base, message := f.base(from)
		if message == "" && len(chain) == mostChain {
			message = fmt.Sprintf("more than %d profiles are based on each other|Build on one that stands nearer to the end "+
				"of the chain; findslip profile FILE --effective makes one file of it.", mostChain)
		}
		if message != "" {
			message, help, _ := strings.Cut(message, "|")
			n := f.say(&kinds.ProfileBase, "/basedOn", message)
			n.Help = help
			list.Add(n)
			break
		}
		var faults notice.List
		f, faults = parse(f.BasedOn.Profile, base)
		list.Add(faults...)
		chain = append(chain, f)
	}
	if len(list) > 0 {
		return nil, list, nil
	}
	e := layTogether(chain)
	list = e.faults(chain, known)
	list.Sort()
	if wrong(list) {
		return nil, list, nil
	}
	return e, list, nil
}

// wrong reports whether a profile of which this is said is not to be used.
func wrong(list notice.List) bool {
	return slices.ContainsFunc(list, func(n notice.Notice) bool { return n.Kind.Severity == notice.Error })
}

// base reads the profile that a file is based on, or says why it cannot be used.
func (f *file) base(from Source) (raw []byte, message string) {
	name := f.BasedOn.Profile
	raw, ok := schema.Profile(name)
	if !ok {
		var err error
		if raw, err = from(name); err != nil {
			return nil, fmt.Sprintf("%q is not in the folder of this profile and is not shipped|Put it beside the file that "+
				"was read, the workbook or the profile.", name)
		}
	}
	if Sum(raw) != f.BasedOn.SHA256 {
		return nil, fmt.Sprintf("%q is not the file whose sum stands here: it has been changed, or the sum was mistyped|"+
			"Where it was changed on purpose, write its sum: %s", name, Sum(raw))
	}
	return raw, ""
}
