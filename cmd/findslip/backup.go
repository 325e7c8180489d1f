package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"github.com/findslip/findslip/pkg/backup"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/render"
)

// passphraseName is the variable of the environment that may hold the passphrase.
const passphraseName = "FINDSLIP_PASSPHRASE"

// shortestPassphrase is the least number of letters that is taken: four short words have more.
const shortestPassphrase = 12

type backupFlags struct {
	out, restore, file string
	force              bool
}

func (p *program) backupCommand() *cobra.Command {
	var f backupFlags
	c := described("backup", &cobra.Command{
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			switch {
			case f.out == "":
				return fmt.Errorf("backup needs a file to write: -o FILE, or with --restore -o FOLDER")
			case f.restore != "" && len(args) == 0:
				return p.restore(c.Context(), f)
			case f.restore != "" || len(args) == 0:
				return fmt.Errorf("backup takes a folder and -o FILE; or --restore FILE and -o FOLDER")
			}
			return p.backup(c.Context(), args[0], f)
		},
	})
	c.Flags().StringVarP(&f.out, "output", "o", "", "file to write; with --restore the folder to make")
	c.Flags().StringVar(&f.restore, "restore", "", "make the folder of this backup anew")
	c.Flags().StringVar(&f.file, "passphrase-file", "", "file whose first line is the passphrase")
	c.Flags().BoolVar(&f.force, "force", false, "replace a backup that is there")
	return c
}

func (p *program) backup(ctx context.Context, folder string, f backupFlags) error {
	info, err := os.Stat(folder)
	if err != nil || !info.IsDir() {
		return fmt.Errorf("backing up %s: this is no folder that can be read", folder)
	}
	out := pipeline.Output{Name: f.out, Force: f.force, Private: true, Unfinished: p.unfinished}
	if err := out.Check(); err != nil {
		return err
	}
	passphrase, err := p.passphrase(f, true)
	if err != nil {
		return err
	}
	root, err := os.OpenRoot(folder)
	if err != nil {
		return fmt.Errorf("backing up %s: %w", folder, err)
	}
	defer root.Close()
	o := backup.Options{Day: time.Now().Format(time.DateOnly), Tool: "findslip " + version(),
		Leave: func(name string) bool { return p.left(folder, f.out, name) }, Extra: registerAbove(folder)}
	var list *backup.List
	if err := out.Write(func(w io.Writer) (err error) {
		list, err = backup.Write(ctx, w, root.FS(), passphrase, o)
		return err
	}); err != nil {
		return fmt.Errorf("backing up %s: %w", folder, err)
	}
	for _, name := range list.Left {
		p.say("warning: not in the backup, for it is a link, a pipe or a device: %s", render.Clean(name))
	}
	hasRegister := false
	var size int64
	for _, one := range list.Files {
		size += one.Size
		hasRegister = hasRegister || register.IsName(path.Base(one.Name))
	}
	if len(o.Extra) > 0 {
		p.say("the register from a folder above is in it too")
	} else if !hasRegister {
		p.say("there is no register in it: nothing of this folder has been shared, or the register lies elsewhere")
	}
	p.say("%s, %d kB, in %s. Try it once: findslip backup --restore %s -o FOLDER", counted(len(list.Files), "file"),
		(size+999)/1000, render.Clean(f.out), render.Clean(f.out))
	return nil
}

// left reports whether a name within a folder is not taken: what Git keeps, what is half written, and the backup
// itself.
func (p *program) left(folder, out, name string) bool {
	base := path.Base(name)
	if base == ".git" || strings.HasPrefix(base, ".findslip-") || strings.HasSuffix(base, ".jsonl.lock") {
		return true
	}
	a, errA := filepath.Abs(filepath.Join(folder, filepath.FromSlash(name)))
	b, errB := filepath.Abs(out)
	return errA == nil && errB == nil && a == b
}

// registerAbove is the register in the nearest folder above, where the folder itself has none.
func registerAbove(folder string) map[string]backup.File {
	up, err := filepath.Abs(folder)
	if err != nil {
		return nil
	}
	for first := true; ; first = false {
		name := filepath.Join(up, register.Name)
		if info, err := os.Stat(name); err == nil && info.Mode().IsRegular() {
			if first {
				return nil
			}
			return map[string]backup.File{register.Name: {Open: func() (fs.File, error) { return os.Open(name) }}}
		}
		next := filepath.Dir(up)
		if next == up {
			return nil
		}
		up = next
	}
}

// restore makes the folder of a backup anew.
func (p *program) restore(ctx context.Context, f backupFlags) error {
	in, err := pipeline.OpenSide(f.restore)
	if err != nil {
		return fmt.Errorf("--restore: %w", err)
	}
	defer in.Close()
	if entries, err := os.ReadDir(f.out); err == nil && len(entries) > 0 {
		return fmt.Errorf("restoring into %s: there is something in that folder already; name a new one", f.out)
	}
	passphrase, err := p.passphrase(f, false)
	if err != nil {
		return err
	}
	empty := os.Remove(f.out) == nil // it was there, and empty
	var list *backup.List
	err = p.unfinished.Folder(f.out, func(part string) (err error) {
		if err := os.Mkdir(part, 0o700); err != nil {
			return err
		}
		root, err := os.OpenRoot(part)
		if err != nil {
			return err
		}
		defer root.Close()
		list, err = backup.Read(ctx, in, passphrase, func(file backup.File, data io.Reader) error {
			return restoreFile(root, file, data)
		})
		return err
	})
	if err != nil {
		if empty {
			err = errors.Join(err, os.Mkdir(f.out, 0o755))
		}
		return fmt.Errorf("restoring %s: %w; nothing was written", f.restore, err)
	}
	p.say("%s in %s, each with the sum that it was put in with (backup of %s)", counted(len(list.Files), "file"),
		render.Clean(f.out), render.Clean(list.Day))
	return nil
}

func restoreFile(root *os.Root, file backup.File, data io.Reader) error {
	if dir := path.Dir(file.Name); dir != "." {
		if err := root.MkdirAll(dir, 0o700); err != nil {
			return err
		}
	}
	f, err := root.OpenFile(file.Name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(f, data)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return err
	}
	return root.Chtimes(file.Name, file.Modified, file.Modified)
}

// passphrase asks for the passphrase, twice where it is new.
func (p *program) passphrase(f backupFlags, fresh bool) (string, error) {
	text, ok := os.LookupEnv(passphraseName)
	if f.file != "" {
		raw, err := os.ReadFile(f.file)
		if err != nil {
			return "", fmt.Errorf("--passphrase-file: %w", err)
		}
		line, _, _ := bytes.Cut(raw, []byte("\n"))
		text, ok = string(bytes.TrimRight(line, "\r")), true
	}
	if !ok {
		var err error
		if text, err = p.askPassphrase(fresh); err != nil {
			return "", err
		}
	}
	if fresh && len([]rune(text)) < shortestPassphrase {
		return "", fmt.Errorf("the passphrase is too short to keep a secret: take four or more words, at least %d letters",
			shortestPassphrase)
	}
	return text, nil
}

func (p *program) askPassphrase(fresh bool) (string, error) {
	in, ok := p.in.(interface{ Fd() uintptr })
	if !ok || !term.IsTerminal(int(in.Fd())) {
		return "", fmt.Errorf("there is no terminal to ask for the passphrase: give it in a file (--passphrase-file FILE) "+
			"or in the variable %s", passphraseName)
	}
	ask := func(what string) (string, error) {
		fmt.Fprint(p.err, what)
		raw, err := term.ReadPassword(int(in.Fd()))
		fmt.Fprintln(p.err)
		return string(raw), err
	}
	text, err := ask("passphrase: ")
	if err != nil || !fresh {
		return text, err
	}
	again, err := ask("once more: ")
	if err == nil && again != text {
		err = errors.New("the two are not the same")
	}
	return text, err
}
