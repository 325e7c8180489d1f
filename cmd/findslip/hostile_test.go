//go:build unix

package main

import (
	"bufio"
	"context"
	"crypto/sha256"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
	"unicode"
)

// mostMemory is what a run on a hostile file may hold at its peak, in bytes.
const mostMemory = 500 << 20

// ran is the outcome of one run of the command as a process of its own.
type ran struct {
	status   int
	out, err string
	peak     int64 // bytes
}

// process starts the command in a folder, with a folder for temporary files of its own.
func command(ctx context.Context, dir string, args ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, "findslip", args...)
	c.Dir = dir
	c.Env = append(os.Environ(), "TMPDIR="+filepath.Join(dir, "tmp"), "NO_COLOR=1", "GORACE=exitcode=3")
	return c
}

// hostileRun runs the command to its end. A run that does not come to its end is stopped and fails.
func hostileRun(t *testing.T, dir string, in io.Reader, args ...string) ran {
	t.Helper()
	ctx, stop := context.WithTimeout(t.Context(), 3*time.Minute)
	defer stop()
	c := command(ctx, dir, args...)
	// Into files, for the kernel counts the memory of who starts a process as that of the process.
	out, errs := scratch(t), scratch(t)
	c.Stdin, c.Stdout, c.Stderr = in, out, errs
	err := c.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) || ctx.Err() != nil {
		t.Fatalf("findslip %s: %v %v", strings.Join(args, " "), err, ctx.Err())
	}
	r := ran{status: c.ProcessState.ExitCode(), out: shown(t, args, out), err: shown(t, args, errs)}
	if usage, ok := c.ProcessState.SysUsage().(*syscall.Rusage); ok {
		r.peak = int64(usage.Maxrss)
		if runtime.GOOS != "darwin" { // which counts in bytes, all others in KiB (getrusage(2))
			r.peak *= 1024
		}
	}
	r.sound(t, args)
	return r
}

func scratch(t *testing.T) *os.File {
	t.Helper()
	f, err := os.CreateTemp(t.TempDir(), "")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// shown returns the beginning of what was printed, and looks through all of it for what a terminal
// would obey.
func shown(t *testing.T, args []string, f *os.File) string {
	t.Helper()
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		t.Fatal(err)
	}
	var head strings.Builder
	for r := bufio.NewReader(f); ; {
		c, _, err := r.ReadRune()
		if err != nil {
			return head.String()
		}
		if unicode.IsControl(c) && c != '\n' && c != '\t' && c != '\r' || c >= 0x202a && c <= 0x202e {
			t.Fatalf("findslip %s passes on %q behind %q", strings.Join(args, " "), c, head.String()[max(0, head.Len()-40):])
		}
		if head.Len() < 1<<18 {
			head.WriteRune(c)
		}
	}
}

// sound proves what must hold of every run, whatever the file.
func (r *ran) sound(t *testing.T, args []string) {
	t.Helper()
	name := strings.Join(args, " ")
	if r.status < 0 || r.status > 2 {
		t.Errorf("findslip %s: exit status %d", name, r.status)
	}
	for _, text := range []string{r.out, r.err} {
		if strings.Contains(text, "panic:") || strings.Contains(text, "goroutine ") || strings.Contains(text,
			"fault of findslip") {
			t.Errorf("findslip %s broke down: %.2000s", name, text)
		}
	}
	if r.status == 2 && r.err == "" {
		t.Errorf("findslip %s does not say why it failed", name)
	}
	if r.peak > mostMemory {
		t.Errorf("findslip %s took %d MiB", name, r.peak>>20)
	}
}

// tidy proves that nothing is left beside the files that are to be there.
func tidy(t *testing.T, dir string, want ...string) {
	t.Helper()
	there := map[string]bool{"tmp": true}
	for _, name := range want {
		there[name] = true
	}
	for _, folder := range []string{".", "tmp"} {
		entries, err := os.ReadDir(filepath.Join(dir, folder))
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			if name := filepath.Join(folder, e.Name()); !there[name] {
				t.Errorf("%s is left behind", name)
			}
		}
	}
}

func sumOf(t *testing.T, name string) [32]byte {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		t.Fatal(err)
	}
	return [32]byte(h.Sum(nil))
}

// hostileDir makes a folder for one case.
func hostileDir(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "tmp"), 0o755); err != nil {
		t.Fatal(err)
	}
	return dir
}

// writing makes a file without holding it in memory.
func writing(t *testing.T, name string, write func(w *bufio.Writer)) {
	t.Helper()
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	w := bufio.NewWriterSize(f, 1<<20)
	write(w)
	if err := errors.Join(w.Flush(), f.Close()); err != nil {
		t.Fatal(err)
	}
}

func repeat(w *bufio.Writer, text string, times int) {
	for range times {
		w.WriteString(text)
	}
}
