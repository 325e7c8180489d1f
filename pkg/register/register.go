// Package register keeps what a finder has told of each find, in one file for all seasons: the secret that
// the ids of copies are made with, the cells that were told, and the copies that were handed out.
//
//	r, err := register.Read(file, limit.Limits{})
//	...
//	err = register.Append(file, r.Issue(event))
//
// # Terms
//
// An event is a line of the register with a random id. Events are only added, so two registers become one by
// union: what either told was told. A digest stands for something of a log and cannot be turned back without
// the secret. The register is the finder's alone: it is never read as a log, packed or handed on.
//
// This package is unstable: it may change between any two versions.
package register

import (
	"bufio"
	"bytes"
	"cmp"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/google/uuid"

	"github.com/findslip/findslip/pkg/limit"
)

// Name is the name of the file, in the folder of a log or a folder above it.
const Name = "findslip.register.jsonl"

// IsName reports whether a file of this name is a register, or a copy of one that a cloud folder has made.
func IsName(base string) bool {
	base = strings.ToLower(base)
	return strings.HasPrefix(base, "findslip.register") || strings.Contains(base, "findslip.register") &&
		strings.HasSuffix(base, ".jsonl")
}

// The kinds of event.
const (
	Secret = "secret" // a secret was made
	Land   = "land"   // a piece of land was met, with the cell that it keeps
	Copy   = "copy"   // a copy was handed out
	Recall = "recall" // a copy was called back, or a later one took its place
)

// An Event is one line.
type Event struct {
	ID     string `json:"id"`
	At     string `json:"at,omitzero"` // RFC 3339
	Kind   string `json:"event"`
	Key    string `json:"key,omitzero"`    // of a secret: 32 bytes in hexadecimal
	Signed string `json:"signed,omitzero"` // id of the secret that the digests are made with

	Land    string   `json:"land,omitzero"` // random id of the land
	Anchor  *Cell    `json:"anchor,omitzero"`
	Members []string `json:"members,omitzero"` // digests of its finds and permissions

	Copy       string   `json:"copy,omitzero"` // id of the copy
	Audience   string   `json:"audience,omitzero"`
	Receiver   string   `json:"receiver,omitzero"`
	Name       string   `json:"name,omitzero"` // of the receiver, as it was typed
	Day        string   `json:"day,omitzero"`
	File       string   `json:"file,omitzero"`
	SHA256     string   `json:"sha256,omitzero"`
	Source     string   `json:"source,omitzero"` // digest of the id of the log
	Finds      []Told   `json:"finds,omitzero"`
	Around     []Told   `json:"around,omitzero"` // people, permissions and outings, by their ids in the copy
	Supersedes []string `json:"supersedes,omitzero"`
	Leaves     []string `json:"leaves,omitzero"` // pointers of the leaves that Told.Leaves counts
	index      map[string]int
}

// A Cell is a square of 0.001 degree by its indices: latitude, longitude.
type Cell [2]int64

// Told is what a copy tells of one record.
type Told struct {
	Find   string `json:"find,omitzero"` // digest of its id in the log
	ID     string `json:"id,omitzero"`   // its id in the copy
	Anchor *Cell  `json:"anchor,omitzero"`
	Side   int64  `json:"side,omitzero"`  // of the cell, in units of 1e-7 degree
	Exact  bool   `json:"exact,omitzero"` // the place was told as it is
	Words  bool   `json:"words,omitzero"` // region and country were told
	Date   string `json:"date,omitzero"`  // as it was told
	Steps  string `json:"steps,omitzero"` // what was told in steps or bands: weight=5/10
	// The digests of its leaves: for each the place of its pointer in Event.Leaves and 24 bits, as two and four digits of
	// base64. Older registers have pointer=digest, with blanks between them.
	Leaves string `json:"leaves,omitzero"`
}

// A Register holds the events of a file.
type Register struct {
	Events []Event
	known  map[string]bool
	fresh  int // events from here on are not in a file yet
}

// New returns an empty register with a fresh secret.
func New(at string) *Register {
	r := &Register{}
	r.Renew(at)
	return r
}

// Renew makes a secret where there is none.
func (r *Register) Renew(at string) {
	for i := range r.Events {
		if r.Events[i].Kind == Secret {
			return
		}
	}
	key := make([]byte, 32)
	_, _ = rand.Read(key) // never fails (crypto/rand)
	r.Add(Event{Kind: Secret, At: at, Key: hex.EncodeToString(key)})
}

// Add adds an event and gives it an id.
func (r *Register) Add(e Event) *Event {
	if e.ID == "" {
		e.ID = RandomID()
	}
	if r.known == nil {
		r.known = map[string]bool{}
	}
	if !r.known[e.ID] {
		r.known[e.ID] = true
		r.Events = append(r.Events, e)
	}
	return &r.Events[len(r.Events)-1]
}

// RandomID returns 128 random bits.
func RandomID() string {
	b := make([]byte, 16)
	_, _ = rand.Read(b)
	return hex.EncodeToString(b)
}

// Read adds the events of a file to the register; those that it has already are passed over.
func (r *Register) Read(in io.Reader, limits limit.Limits) error {
	// It is the finder's own file and grows with every copy, a find in a hundred and fifty to three hundred bytes.
	lines := bufio.NewReader(limit.Reader(in, "held", 10*limits.WithDefaults().Held))
	for n := 1; ; n++ {
		line, err := lines.ReadBytes('\n')
		if over := limit.Of(err); over != nil {
			return over
		}
		if len(bytes.TrimSpace(line)) > 0 {
			var e Event
			if uerr := json.Unmarshal(line, &e); uerr != nil || e.ID == "" || e.Kind == "" {
				return fmt.Errorf("line %d of the register cannot be read: put back the file as it was, from a backup or another "+
					"machine", n)
			}
			r.Add(e)
		}
		if errors.Is(err, io.EOF) {
			r.fresh = len(r.Events)
			return nil
		}
		if err != nil {
			return fmt.Errorf("reading the register: %w", err)
		}
	}
}

// Union adds the events of another register, which count as not yet in the file.
func (r *Register) Union(o *Register) (added int) {
	for _, e := range o.Events {
		before := len(r.Events)
		r.Add(e)
		added += len(r.Events) - before
	}
	return added
}

// Fresh returns the events that are not in the file yet, one JSON object a line.
func (r *Register) Fresh() ([]byte, error) {
	var out bytes.Buffer
	for i := r.fresh; i < len(r.Events); i++ {
		b, err := json.Marshal(r.Events[i])
		if err != nil {
			return nil, err
		}
		out.Write(append(b, '\n'))
	}
	return out.Bytes(), nil
}

// Kept says that what Fresh returned is in the file now.
func (r *Register) Kept() { r.fresh = len(r.Events) }

// secrets are the secrets, the oldest first.
func (r *Register) secrets() (out []Event) {
	for _, e := range r.Events {
		if e.Kind == Secret {
			out = append(out, e)
		}
	}
	slices.SortFunc(out, func(a, b Event) int { return cmp.Or(strings.Compare(a.At, b.At), strings.Compare(a.ID, b.ID)) })
	return out
}

// Signer returns the id of the secret that new digests are made with: the oldest one.
func (r *Register) Signer() string {
	if list := r.secrets(); len(list) > 0 {
		return list[0].ID
	}
	return ""
}

// Canaries are the texts of the register that may stand in no copy.
func (r *Register) Canaries() (out []string) {
	for _, e := range r.secrets() {
		out = append(out, e.Key)
	}
	return append(out, Name)
}

func sum(key string, parts []string) []byte {
	secret, _ := hex.DecodeString(key)
	mac := hmac.New(sha256.New, secret)
	text, _ := json.Marshal(parts) // a list of texts: always valid
	mac.Write(text)
	return mac.Sum(nil)
}

// Digest is the keyed digest of some texts, under the secret that signs.
func (r *Register) Digest(parts ...string) string {
	list := r.secrets()
	if len(list) == 0 {
		return ""
	}
	return hex.EncodeToString(sum(list[0].Key, parts)[:16])
}

// Digests are the digests of some texts under every secret, for looking up what any of them has signed.
func (r *Register) Digests(parts ...string) (out []string) {
	for _, s := range r.secrets() {
		out = append(out, hex.EncodeToString(sum(s.Key, parts)[:16]))
	}
	return out
}

// Note notes the digests of the leaves of a record that a copy tells.
func (r *Register) Note(e *Event, t *Told, pointer, value string) {
	if e.index == nil {
		e.index = map[string]int{}
	}
	n, ok := e.index[pointer]
	if !ok {
		if n = len(e.Leaves); n == len(digits)*len(digits) {
			return // a leaf that is not noted counts as changed
		}
		e.Leaves, e.index[pointer] = append(e.Leaves, pointer), n
	}
	t.Leaves += string([]byte{digits[n/len(digits)], digits[n%len(digits)]}) + r.leaf(e.Signed, t.ID, pointer, value)[:4]
}

// digits are those of base64 for URLs (RFC 4648).
const digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"

// Noted are the digests of the leaves of a record by their pointers.
func (e *Event) Noted(t *Told) map[string]string {
	out := map[string]string{}
	if strings.Contains(t.Leaves, "=") {
		for field := range strings.FieldsSeq(t.Leaves) {
			pointer, digest, _ := strings.Cut(field, "=")
			out[pointer] = digest
		}
		return out
	}
	for i := 0; i+6 <= len(t.Leaves); i += 6 {
		n := strings.IndexByte(digits, t.Leaves[i])*len(digits) + strings.IndexByte(digits, t.Leaves[i+1])
		if n >= 0 && n < len(e.Leaves) {
			out[e.Leaves[n]] = t.Leaves[i+2 : i+6]
		}
	}
	return out
}

// Is reports whether a digest that Noted gave is that of a value.
func (r *Register) Is(digest string, e *Event, t *Told, pointer, value string) bool {
	return digest != "" && strings.HasPrefix(r.leaf(e.Signed, t.ID, pointer, value), digest)
}

// leaf is the digest of one value of a copy: 64 bits, as base64 without padding.
func (r *Register) leaf(signed, copied, leaf, value string) string {
	for _, s := range r.secrets() {
		if s.ID == signed {
			return base64.RawURLEncoding.EncodeToString(sum(s.Key, []string{"leaf", copied, leaf, value})[:8])
		}
	}
	return "...." // of no digit: nothing is like it
}

// CopyID is the id under which a receiver sees an object of the log: a UUID of version 8 (RFC 9562) of
// HMAC-SHA-256 over the canonical JSON of ["findslip/1", audience, receiver, object].
func (r *Register) CopyID(audience, receiver, object string) string {
	list := r.secrets()
	if len(list) == 0 {
		return ""
	}
	return KeyedID(list[0].Key, audience, receiver, object)
}

// KeyedID is CopyID with a secret of 32 bytes in hexadecimal.
func KeyedID(key, audience, receiver, object string) string {
	var id uuid.UUID
	copy(id[:], sum(key, []string{"findslip/1", audience, receiver, object}))
	id[6], id[8] = id[6]&0x0f|8<<4, id[8]&0x3f|0x80
	return "urn:uuid:" + id.String()
}
