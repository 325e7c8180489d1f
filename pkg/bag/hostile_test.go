package bag

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// What RFC 8493 forbids or warns of, each by its section: a bag with one such fault is never taken
// for whole, and nothing outside it is read.
func TestHostileBags(t *testing.T) {
	zeros := strings.Repeat("0", 64)
	// SHA-256 of "x", sha256sum of coreutils 9.1
	const x = "2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881"
	for _, c := range []struct{ name, section, file, text, want string }{
		{"no version", "2.1.1", "bagit.txt", "Tag-File-Character-Encoding: UTF-8\n", "BagIt-Version"},
		{"no encoding", "2.1.1", "bagit.txt", "BagIt-Version: 1.0\n", "Tag-File-Character-Encoding"},
		{"something more", "2.1.1", "bagit.txt", "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\nX: y\n",
			"nothing else"},
		{"byte order mark", "2.1.1", "bagit.txt", "\ufeffBagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
			"byte order mark"},
		{"later version", "2.1.1", "bagit.txt", "BagIt-Version: 2.0\nTag-File-Character-Encoding: UTF-8\n", "later than 1"},
		{"other encoding", "2.1.1", "bagit.txt", "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-16\n", "not in UTF-8"},
		{"a sum too short", "2.1.3", "manifest-sha256.txt", "0123  data/x\n", "line 1"},
		{"no sum at all", "2.1.3", "manifest-sha256.txt", "data/x\n", "line 1"},
		{"a name twice", "2.1.3", "manifest-sha256.txt", x + "  data/x\n" + zeros + "  data/x\n", "already"},
		{"a name that leads outside", "5.2", "manifest-sha256.txt", x + "  data/../../x\n", "outside the bag"},
		{"a name from the root", "5.2", "manifest-sha256.txt", x + "  /etc/hostname\n", "outside the bag"},
		{"a name of another system", "5.2", "manifest-sha256.txt", x + "  data\\x\n", "outside the bag"},
		{"a drive", "5.2", "manifest-sha256.txt", x + "  C:/x\n", "outside the bag"},
		{"a home", "5.2", "manifest-sha256.txt", x + "  ~/x\n", "data/"},
		{"an encoded way out", "2.1.3", "manifest-sha256.txt", x + "  data/%2e%2e/%2e%2e/x\n", "missing"},
		{"payload beside the payload", "2.1.3", "manifest-sha256.txt", x + "  x\n", "data/"},
		{"listed and not there", "3", "manifest-sha256.txt", x + "  data/x\n" + x + "  data/y\n", "missing"},
		{"nothing listed", "3", "manifest-sha256.txt", "", "not listed"},
		{"a tag list of payload", "2.2.1", "tagmanifest-sha256.txt", x + "  data/x\n", "payload"},
		{"a tag list of itself", "2.2.1", "tagmanifest-sha256.txt", zeros + "  tagmanifest-sha256.txt\n",
			"such a list itself"},
		{"a tag file that is gone", "3", "tagmanifest-sha256.txt", zeros + "  gone.txt\n", "missing"},
		{"a tag file that differs", "3", "tagmanifest-sha256.txt", zeros + "  bagit.txt\n", "differs"},
		{"files to be fetched", "2.2.3", "fetch.txt", "https://example.org/x 1 data/z\n", "not fetched"},
		{"an algorithm that nobody knows", "2.4", "manifest-rot13.txt", "abc  data/x\n", "not known here"},
		{"a size that lies", "2.2.2", "bag-info.txt", "Payload-Oxum: 99.1\n", "Payload-Oxum"},
	} {
		folder := unpacked(t, Bag{Name: "one", Files: []File{Text("x", []byte("x"))}})
		if err := os.WriteFile(filepath.Join(folder, c.file), []byte(c.text), 0o644); err != nil {
			t.Fatal(err)
		}
		problems, err := VerifyFolder(t.Context(), folder, Limits{})
		if err != nil || !slices.ContainsFunc(problems,
			func(p Problem) bool { return strings.Contains(p.String(), c.want) }) {
			t.Errorf("%s (section %s): %v %v, want %q", c.name, c.section, problems, err, c.want)
		}
	}
	for _, file := range []string{"bagit.txt", "manifest-sha256.txt"} {
		folder := unpacked(t, Bag{Name: "one", Files: []File{Text("x", []byte("x"))}})
		if err := os.Remove(filepath.Join(folder, file)); err != nil {
			t.Fatal(err)
		}
		if problems, err := VerifyFolder(t.Context(), folder, Limits{}); err == nil {
			t.Errorf("without %s it is still a bag: %v", file, problems)
		}
	}
	folder := unpacked(t, Bag{Name: "one", Files: []File{Text("x", []byte("x"))}})
	if err := os.Remove(filepath.Join(folder, "tagmanifest-sha256.txt")); err != nil {
		t.Fatal(err)
	}
	if problems, err := VerifyFolder(t.Context(), folder, Limits{}); err != nil || len(problems) != 1 {
		t.Errorf("lists that are not sealed: %v %v", problems, err)
	}
}

// What a bag lists is bounded, however short its lines: no problem is kept for each of millions.
func TestVerifyLimits(t *testing.T) {
	for _, c := range []struct {
		name, list string
		limits     Limits
		want       string // of the limit
	}{
		{"names", strings.Repeat("x\n", 101), Limits{Files: 100}, "files"},
		{"as many as may be", strings.Repeat("x\n", 100), Limits{Files: 100}, ""},
		{"blank lines", strings.Repeat("\n", 500), Limits{Files: 100}, ""},
		{"bytes", strings.Repeat("\n", 500), Limits{List: 499}, "list"},
		{"as many bytes as may be", strings.Repeat("\n", 500), Limits{List: 500}, ""},
		{"one long line", strings.Repeat("x", 3<<20), Limits{}, ""},
		{"one longer line", strings.Repeat("x", 33<<20), Limits{}, "list"},
	} {
		folder := unpacked(t, Bag{Name: "one", Files: []File{Text("x", []byte("x"))}})
		if err := os.WriteFile(filepath.Join(folder, "manifest-sha256.txt"), []byte(c.list), 0o644); err != nil {
			t.Fatal(err)
		}
		problems, err := VerifyFolder(t.Context(), folder, c.limits)
		var over *LimitError
		if c.want != "" && (!errors.As(err, &over) || over.Limit != c.want || problems != nil) || c.want == "" &&
			(err != nil || len(problems) == 0) {
			t.Errorf("%s: %d problems, %v", c.name, len(problems), err)
		}
	}
	folder := unpacked(t, Bag{Name: "one", Files: []File{Text("x", []byte("x"))}})
	var over *LimitError
	if _, err := VerifyFolder(t.Context(), folder, Limits{Files: 4}); !errors.As(err, &over) || over.Limit != "files" ||
		!strings.Contains(err.Error(), "more than 4 files") {
		t.Errorf("more files than are looked at: %v", err)
	}
	// bagit, bag-info, the lists, x
	if problems, err := VerifyFolder(t.Context(), folder, Limits{Files: 5}); err != nil || len(problems) > 0 {
		t.Errorf("as many files as may be: %v %v", problems, err)
	}
}
