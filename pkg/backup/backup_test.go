package backup_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"testing"
	"testing/fstest"

	"github.com/findslip/findslip/pkg/backup"
)

const secret = "the quiet field behind the fair"

// folder is what a finder keeps.
func folder() fstest.MapFS {
	return fstest.MapFS{
		"2026/season.xlsx":        {Data: bytes.Repeat([]byte{0, 1, 2, 255}, 40_000)},
		"2026/pictures/12a.jpg":   {Data: []byte{0xff, 0xd8, 0xff}},
		"findslip.register.jsonl": {Data: []byte("{\"id\":\"a\",\"event\":\"secret\",\"key\":\"00\"}\n")},
		"empty.csv":               {Data: nil},
	}
}

func sealed(t testing.TB) []byte {
	t.Helper()
	var b bytes.Buffer
	list, err := backup.Write(t.Context(), &b, folder(), secret, backup.Options{Day: "2026-06-01", Work: 10,
		Leave: func(name string) bool { return name == ".git" }})
	if err != nil || len(list.Files) != 4 {
		t.Fatal(err, list)
	}
	return b.Bytes()
}

func open(t testing.TB, data []byte, passphrase string) (map[string]string, error) {
	t.Helper()
	out := map[string]string{}
	_, err := backup.Read(context.Background(), bytes.NewReader(data), passphrase,
		func(f backup.File, r io.Reader) error {
			text, err := io.ReadAll(r)
			out[f.Name] = string(text)
			return err
		})
	return out, err
}

func TestThereAndBack(t *testing.T) {
	data := sealed(t)
	got, err := open(t, data, secret)
	if err != nil {
		t.Fatal(err)
	}
	for name, f := range folder() {
		if got[name] != string(f.Data) {
			t.Errorf("%s came back otherwise", name)
		}
	}
	if len(got) != 4 || bytes.Contains(data, []byte("season")) || bytes.Contains(data, []byte("register")) {
		t.Error("a name stands in the sealed file, or a file is there that was not")
	}
}

// Whatever byte is changed, and wherever the file ends, it is said and never opened as if nothing were.
func TestDamaged(t *testing.T) {
	data := sealed(t)
	if _, err := open(t, data, secret+"!"); !errors.Is(err, backup.ErrPassphrase) {
		t.Errorf("another passphrase: %v", err)
	}
	if _, err := open(t, data, ""); !errors.Is(err, backup.ErrPassphrase) {
		t.Errorf("no passphrase: %v", err)
	}
	for at := 0; at < len(data); at += 1 + len(data)/40 {
		broken := bytes.Clone(data)
		broken[at] ^= 1
		if _, err := open(t, broken, secret); err == nil {
			t.Errorf("byte %d is changed, and nothing is said", at)
		}
		if _, err := open(t, data[:at], secret); err == nil {
			t.Errorf("the file ends at %d, and nothing is said", at)
		}
	}
	for _, text := range []string{"", "no backup", "age-encryption.org/v1\n"} {
		if _, err := open(t, []byte(text), secret); !errors.Is(err, backup.ErrNoBackup) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func Example() {
	var file bytes.Buffer
	list, err := backup.Write(context.Background(), &file,
		fstest.MapFS{"season.csv": {Data: []byte("number,name\n1,bell\n")}},
		"four words that nobody guesses", backup.Options{Work: 10})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(len(list.Files), "file in it")
	_, err = backup.Read(context.Background(), &file, "four words that nobody guesses",
		func(f backup.File, data io.Reader) error {
			text, err := io.ReadAll(data)
			fmt.Printf("%s: %q\n", f.Name, text)
			return err
		})
	fmt.Println(err)
	// Output:
	// 1 file in it
	// season.csv: "number,name\n1,bell\n"
	// <nil>
}
