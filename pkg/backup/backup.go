// Package backup keeps a folder - logs, settings, the register, pictures - in one file under a passphrase, and
// gives it back byte for byte.
//
//	list, err := backup.Write(ctx, w, os.DirFS("finds"), passphrase, backup.Options{})
//	list, err := backup.Read(ctx, r, passphrase, func(e backup.File, data io.Reader) error { ... })
//
// # Terms
//
// The file is one of the age format, version 1, for a passphrase (scrypt): https://age-encryption.org/v1. Any
// program for that format opens it. Inside is a tar file (POSIX.1-2001), compressed by gzip (RFC 1952). Its last
// entry, findslip-backup.json, lists every file with its size and SHA-256 sum: without it the file is cut short.
//
// This package is unstable: it may change between any two versions.
package backup

import (
	"archive/tar"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"
	"time"

	"filippo.io/age"
	"github.com/go-json-experiment/json"
)

// listName is the last entry of the tar file.
const listName = "findslip-backup.json"

// maxWork bounds the work that a file may ask for: 2^20 rounds of scrypt need 1 GiB; 2^18 are usual.
const maxWork = 20

// Options of Write.
type Options struct {
	Day   string                 // of the backup, ISO 8601
	Tool  string                 // name and version of the program
	Leave func(name string) bool // names that are not taken; nil: none
	Extra map[string]File        // files from elsewhere, by the name that they get
	Work  int                    // of scrypt, as a power of two; 0: that of the library
}

// A File is one file of a backup.
type File struct {
	Name     string    `json:"name"` // slash path within the folder
	Size     int64     `json:"size"`
	SHA256   string    `json:"sha256"`
	Modified time.Time `json:"-"`

	Open func() (fs.File, error) `json:"-"` // of Options.Extra
}

// A List says what a backup holds.
type List struct {
	Version string   `json:"backupVersion"` // "1.0"
	Day     string   `json:"day,omitzero"`
	Tool    string   `json:"tool,omitzero"`
	Files   []File   `json:"files"`
	Left    []string `json:"-"` // what was not taken: links, pipes and devices
}

const version = "1.0"

// Write writes a backup of a folder. Links, pipes and devices are not taken, and named.
func Write(ctx context.Context, w io.Writer, folder fs.FS, passphrase string, o Options) (*List, error) {
	to, err := age.NewScryptRecipient(passphrase)
	if err != nil {
		return nil, fmt.Errorf("the passphrase cannot be used: %w", err)
	}
	if o.Work > 0 {
		to.SetWorkFactor(o.Work)
	}
	sealed, err := age.Encrypt(w, to)
	if err != nil {
		return nil, fmt.Errorf("sealing the backup: %w", err)
	}
	packed := gzip.NewWriter(sealed)
	b := &writer{tar: tar.NewWriter(packed), list: &List{Version: version, Day: o.Day, Tool: o.Tool, Files: []File{}}}
	err = fs.WalkDir(folder, ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case ctx.Err() != nil:
			return ctx.Err()
		case name == ".":
			return nil
		case name == listName || o.Leave != nil && o.Leave(name):
			if d.IsDir() {
				return fs.SkipDir
			}
			return nil
		case d.IsDir():
			return nil
		case !d.Type().IsRegular():
			b.list.Left = append(b.list.Left, name)
			return nil
		}
		return b.file(name, func() (fs.File, error) { return folder.Open(name) })
	})
	for name, f := range o.Extra {
		if err == nil {
			err = b.file(name, f.Open)
		}
	}
	if err == nil {
		err = b.end()
	}
	for _, c := range []io.Closer{b.tar, packed, sealed} {
		if cerr := c.Close(); err == nil {
			err = cerr
		}
	}
	if err != nil {
		return nil, err
	}
	return b.list, nil
}

type writer struct {
	tar  *tar.Writer
	list *List
}

func (b *writer) file(name string, open func() (fs.File, error)) error {
	f, err := open()
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if err := b.tar.WriteHeader(&tar.Header{Name: name, Size: info.Size(), Mode: 0o600, ModTime: info.ModTime(),
		Format: tar.FormatPAX}); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(b.tar, sum), io.LimitReader(f, info.Size()))
	if err == nil && n != info.Size() {
		err = errors.New("the file was changed while it was read; wait until the program that writes it has finished")
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	b.list.Files = append(b.list.Files, File{Name: name, Size: n, SHA256: hex.EncodeToString(sum.Sum(nil))})
	return nil
}

func (b *writer) end() error {
	text, err := json.Marshal(b.list, json.Deterministic(true))
	if err != nil {
		return err
	}
	if err := b.tar.WriteHeader(&tar.Header{Name: listName, Size: int64(len(text)), Mode: 0o600,
		Format: tar.FormatPAX}); err != nil {
		return err
	}
	_, err = b.tar.Write(text)
	return err
}

// Errors of Read, for whoever tells them to people.
var (
	ErrPassphrase = errors.New("the passphrase does not open this file")
	ErrDamaged    = errors.New("the file is damaged or cut short: what it holds is not what was put into it")
	ErrNoBackup   = errors.New("this is no backup of Findslip")
)

// Read reads a backup and passes each file to keep, which reads its data to the end. What was kept is to be used
// only if there is no error: a damaged file may show it at its very end.
func Read(ctx context.Context, r io.Reader, passphrase string, keep func(f File, data io.Reader) error) (*List, error) {
	of, err := age.NewScryptIdentity(passphrase)
	if err != nil {
		return nil, ErrPassphrase
	}
	of.SetMaxWorkFactor(maxWork)
	open, err := age.Decrypt(r, of)
	if err != nil {
		var wrong *age.NoIdentityMatchError
		switch {
		case errors.As(err, &wrong) && wrongOnly(wrong):
			return nil, ErrPassphrase
		case strings.Contains(err.Error(), "header"), errors.As(err, &wrong):
			return nil, fmt.Errorf("%w, or its beginning is damaged", ErrNoBackup)
		}
		return nil, ErrDamaged
	}
	packed, err := gzip.NewReader(open)
	if err != nil {
		return nil, ErrDamaged
	}
	return readTar(ctx, tar.NewReader(packed), packed, keep)
}

// wrongOnly reports whether a passphrase was tried and did not fit.
func wrongOnly(e *age.NoIdentityMatchError) bool {
	for _, err := range e.Errors {
		if !errors.Is(err, age.ErrIncorrectIdentity) {
			return false
		}
	}
	return len(e.StanzaTypes) == 1 && e.StanzaTypes[0] == "scrypt"
}

func readTar(ctx context.Context, in *tar.Reader, whole io.Reader, keep func(f File, data io.Reader) error) (*List,
	error) {
	seen := map[string]File{}
	var list *List
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		h, err := in.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil || list != nil {
			return nil, ErrDamaged
		}
		if h.Name == listName {
			list = &List{}
			if text, err := io.ReadAll(in); err != nil || json.Unmarshal(text, list) != nil || list.Version != version {
				return nil, fmt.Errorf("%w, or it is of a later version", ErrNoBackup)
			}
			continue
		}
		if _, twice := seen[h.Name]; twice || h.Typeflag != tar.TypeReg || !fs.ValidPath(h.Name) ||
			path.Clean(h.Name) != h.Name || strings.ContainsAny(h.Name, "\\\x00") {
			return nil, fmt.Errorf("%w: it names a file %q", ErrNoBackup, h.Name)
		}
		sum := sha256.New()
		f := File{Name: h.Name, Size: h.Size, Modified: h.ModTime}
		if err := keep(f, io.TeeReader(in, sum)); err != nil {
			return nil, err
		}
		f.SHA256 = hex.EncodeToString(sum.Sum(nil))
		seen[h.Name] = f
	}
	if _, err := io.Copy(io.Discard, whole); err != nil || list == nil || len(list.Files) != len(seen) {
		return nil, ErrDamaged
	}
	for _, f := range list.Files {
		if s := seen[f.Name]; s.SHA256 != f.SHA256 || s.Size != f.Size {
			return nil, fmt.Errorf("%w: %s", ErrDamaged, f.Name)
		}
	}
	return list, nil
}
