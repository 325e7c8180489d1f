package bag

import (
	"context"
	"crypto/md5"
	"crypto/sha1"
	"crypto/sha256"
	"crypto/sha512"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// A Problem is something wrong with a bag.
type Problem struct {
	File string // slash path in the bag; empty: the bag itself
	Text string
}

// String names the file and what is wrong.
func (p Problem) String() string {
	if p.File == "" {
		return p.Text
	}
	return p.File + ": " + p.Text
}

// sums are the algorithms of manifests (RFC 8493 section 2.4); those that are weak by now are
// verified where a bag has them, and never written.
var sums = []struct {
	name string
	new  func() hash.Hash
}{{"sha512", sha512.New}, {"sha256", sha256.New}, {"sha1", sha1.New}, {"md5", md5.New}}

// VerifyFolder proves the bag in a folder as Verify does. It refuses a folder that holds a link or
// a device anywhere, so that nothing outside it is read.
func VerifyFolder(ctx context.Context, folder string, limits Limits) ([]Problem, error) {
	files, most := int64(0), limits.filled().Files
	err := filepath.WalkDir(folder, func(name string, d fs.DirEntry, err error) error {
		if err == nil {
			err = ctx.Err()
		}
		if err == nil && !d.IsDir() && !d.Type().IsRegular() {
			return fmt.Errorf("%q is a link or a device; a bag holds files only", d.Name())
		}
		if err == nil && !d.IsDir() {
			if files++; files > most {
				return &LimitError{"files", most}
			}
		}
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("verifying the bag: %w", err)
	}
	root, err := os.OpenRoot(folder)
	if err != nil {
		return nil, fmt.Errorf("verifying the bag: %w", err)
	}
	defer root.Close()
	return Verify(ctx, root.FS(), limits)
}

// Verify proves a bag: that it says what it is, that every file listed is there with its sum, by
// every algorithm the bag has a manifest for, and that nothing else is in the payload. It fetches
// nothing. A file system that follows links lets the bag name files outside it: use VerifyFolder.
// The problems come sorted; what is no bag at all is an error, and so is more than the limits, which
// is a *LimitError.
func Verify(ctx context.Context, bag fs.FS, limits Limits) ([]Problem, error) {
	v := &verifier{ctx: ctx, bag: bag, limits: limits.filled()}
	text, err := v.tag("bagit.txt")
	if err != nil {
		return nil, fmt.Errorf("this is not a bag: %w", err)
	}
	v.declaration(text)
	if _, err := fs.Stat(bag, "fetch.txt"); err == nil {
		v.say("fetch.txt", "the bag names files to be fetched; they are not fetched")
	}
	v.unknownManifests()
	manifests, sealed := 0, false
	for _, a := range sums {
		if name := "manifest-" + a.name + ".txt"; v.has(name) {
			manifests++
			listed, err := v.manifest(name, a.new)
			if err != nil {
				return nil, err
			}
			if err := v.payload(listed, name, a.new); err != nil {
				return nil, err
			}
		}
		if name := "tagmanifest-" + a.name + ".txt"; v.has(name) {
			sealed = true
			if err := v.tags(name, a.new); err != nil {
				return nil, err
			}
		}
	}
	if manifests == 0 {
		return nil, errors.New("this is not a bag: it has no manifest, such as manifest-sha256.txt")
	}
	if !sealed {
		v.say("tagmanifest-sha256.txt", "it is missing: the lists themselves are not sealed")
	}
	v.oxum()
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("verifying the bag: %w", err)
	}
	slices.SortFunc(v.problems, func(a, b Problem) int {
		return strings.Compare(a.File+"\x00"+a.Text,
			b.File+"\x00"+b.Text)
	})
	return slices.Compact(v.problems), nil
}

// declarationForm is the text of bagit.txt (RFC 8493 section 2.1.1).
var declarationForm = regexp.MustCompile(`\ABagIt-Version: (\d+)\.(\d+)\r?\nTag-File-Character-Encoding: ` +
	`(\S+)(?:\r?\n)?\z`)

// declaration looks at what the bag says that it is.
func (v *verifier) declaration(text string) {
	m := declarationForm.FindStringSubmatch(text)
	switch {
	case strings.HasPrefix(text, "\ufeff"):
		v.say("bagit.txt", "it begins with a byte order mark, which must not stand there")
	case m == nil:
		v.say("bagit.txt", "it does not say BagIt-Version and Tag-File-Character-Encoding, one a line and nothing else")
	case m[1] != "1" && m[1] != "0":
		v.say("bagit.txt", "the bag is of a version later than 1: what is new in it is not checked")
	case !strings.EqualFold(m[3], "UTF-8"):
		v.say("bagit.txt", "the lists are not in UTF-8: names with other letters may be misread")
	}
}

// unknownManifests says which lists of sums are not looked at.
func (v *verifier) unknownManifests() {
	names, _ := fs.Glob(v.bag, "*manifest-*.txt") // the pattern is sound
	for _, name := range names {
		algorithm, ok := strings.CutPrefix(strings.TrimSuffix(strings.TrimPrefix(name, "tag"), ".txt"), "manifest-")
		known := slices.ContainsFunc(sums, func(s struct {
			name string
			new  func() hash.Hash
		}) bool {
			return s.name == algorithm
		})
		if ok && !known {
			v.say(name, "its sums are of an algorithm that is not known here: they are not compared")
		}
	}
}

// oxum compares the size of the payload with Payload-Oxum, where bag-info.txt gives one (RFC 8493
// section 2.2.2).
func (v *verifier) oxum() {
	if !v.has("bag-info.txt") {
		return
	}
	text, err := v.tag("bag-info.txt")
	if err != nil {
		v.say("bag-info.txt", "it cannot be read: "+err.Error())
		return
	}
	for line := range strings.Lines(text) {
		stated, ok := strings.CutPrefix(strings.TrimSpace(line), "Payload-Oxum:")
		if !ok {
			continue
		}
		var bytes, files int64
		_ = fs.WalkDir(v.bag, "data", func(_ string, d fs.DirEntry, err error) error { // payload has told what cannot be read
			if err != nil || d.IsDir() {
				return nil
			}
			if info, err := d.Info(); err == nil {
				bytes, files = bytes+info.Size(), files+1
			}
			return nil
		})
		if strings.TrimSpace(stated) != fmt.Sprintf("%d.%d", bytes, files) {
			v.say("bag-info.txt", "the payload is not of the size and number of files that Payload-Oxum states")
		}
	}
}

func (v *verifier) has(name string) bool {
	info, err := fs.Stat(v.bag, name)
	return err == nil && info.Mode().IsRegular()
}

type verifier struct {
	ctx      context.Context // of the one call of Verify
	bag      fs.FS
	limits   Limits
	problems []Problem
}

func (v *verifier) say(file, text string) { v.problems = append(v.problems, Problem{file, text}) }

// tag reads a small file beside the payload.
func (v *verifier) tag(name string) (string, error) {
	f, err := v.bag.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	info, err := f.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = errors.New("it is not a file")
	}
	if err != nil {
		return "", err
	}
	var b strings.Builder
	n, err := io.Copy(&b, io.LimitReader(f, min(v.limits.List, math.MaxInt64-1)+1))
	if err == nil && n > v.limits.List {
		err = &LimitError{"list", v.limits.List}
	}
	return b.String(), err
}

// manifest reads the sums of files.
func (v *verifier) manifest(name string, algorithm func() hash.Hash) (map[string]string, error) {
	digits := 2 * algorithm().Size()
	text, err := v.tag(name)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	out := map[string]string{}
	n, named := 0, int64(0)
	for line := range strings.Lines(text) {
		n++
		line = strings.TrimSpace(line)
		if line != "" {
			if named++; named > v.limits.Files {
				return nil, fmt.Errorf("reading %s: %w", name, &LimitError{"files", v.limits.Files})
			}
		}
		sum, file, ok := strings.Cut(line, " ")
		file = decodeName(strings.TrimLeft(file, " *"))
		switch {
		case line == "":
		case !ok || len(sum) != digits:
			v.say(name, fmt.Sprintf("line %d is not a sum of %d digits and a name", n, digits))
		case !cleanName(file):
			v.say(name, fmt.Sprintf("line %d names a file outside the bag", n))
		case out[file] != "":
			v.say(name, fmt.Sprintf("line %d names a file that stands there already", n))
		default:
			out[file] = strings.ToLower(sum)
		}
	}
	return out, nil
}

// tags compares the list of the lists and labels with what is there.
func (v *verifier) tags(list string, algorithm func() hash.Hash) error {
	listed, err := v.manifest(list, algorithm)
	if err != nil {
		return err
	}
	if len(listed) == 0 {
		v.say(list, "it lists nothing: the lists themselves are not sealed")
		return nil
	}
	for file, sum := range listed {
		if strings.HasPrefix(file, "data/") || strings.HasPrefix(file, "tagmanifest-") {
			v.say(list, fmt.Sprintf("it lists %q, which is payload or such a list itself", file))
			continue
		}
		v.sum(file, sum, algorithm)
	}
	return fs.WalkDir(v.bag, ".", func(name string, d fs.DirEntry, err error) error {
		if err == nil {
			err = v.ctx.Err()
		}
		switch {
		case err != nil:
			return err
		case name == "data":
			return fs.SkipDir
		case d.IsDir(), strings.HasPrefix(name, "tagmanifest-"), listed[name] != "":
			return nil
		}
		v.say(name, "it is not listed in "+list)
		return nil
	})
}

// payload compares the list with what is there.
func (v *verifier) payload(manifest map[string]string, list string, algorithm func() hash.Hash) error {
	for name, sum := range manifest {
		if err := v.ctx.Err(); err != nil {
			return err
		}
		if !strings.HasPrefix(name, "data/") {
			v.say(name, "it is listed as payload but does not lie below data/")
			continue
		}
		v.sum(name, sum, algorithm)
	}
	return fs.WalkDir(v.bag, "data", func(name string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			v.say("data", "the payload is missing")
			return nil
		}
		if err == nil {
			err = v.ctx.Err()
		}
		if err != nil || d.IsDir() {
			return err
		}
		if !d.Type().IsRegular() {
			v.say(name, "it is a link or a device, not a file")
		} else if manifest[name] == "" {
			v.say(name, "it is not listed in "+list)
		}
		return nil
	})
}

func (v *verifier) sum(name, want string, algorithm func() hash.Hash) {
	info, err := fs.Stat(v.bag, name)
	if err != nil {
		v.say(name, "it is listed but missing")
		return
	}
	if !info.Mode().IsRegular() {
		v.say(name, "it is not a file")
		return
	}
	f, err := v.bag.Open(name)
	if err != nil {
		v.say(name, "it cannot be read")
		return
	}
	defer f.Close()
	h := algorithm()
	if _, err := io.Copy(h, stopping{v.ctx, f}); err != nil {
		v.say(name, "it cannot be read to its end")
		return
	}
	if hex.EncodeToString(h.Sum(nil)) != want {
		v.say(name, "its sum differs: it was changed or damaged")
	}
}

// signs of a fingerprint: no letter that is heard or read as another sign (base 32 of D. Crockford, from memory).
const signs = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// Fingerprint is a short form of the sum of all sums of a bag, to be read over the telephone: three groups of four
// signs, which are 60 bits of the SHA-256 sum of tagmanifest-sha256.txt. The same bag has the same fingerprint, as
// a folder and as a zip file.
func Fingerprint(bag fs.FS) (string, error) {
	f, err := bag.Open("tagmanifest-sha256.txt")
	if err != nil {
		return "", fmt.Errorf("the bag has no list of its lists: %w", err)
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	sum := h.Sum(nil)
	var out []byte
	var bits uint64
	for _, b := range sum[:8] {
		bits = bits<<8 | uint64(b)
	}
	for i := range 12 {
		if i > 0 && i%4 == 0 {
			out = append(out, '-')
		}
		out = append(out, signs[bits>>59])
		bits <<= 5
	}
	return string(out), nil
}
