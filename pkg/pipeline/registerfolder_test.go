package pipeline

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/register"
)

// The register of a folder above is that of the log, unless everybody may write into that folder.
func TestRegisterAbove(t *testing.T) {
	const at = "2026-06-01T00:00:00Z"
	top := t.TempDir()
	folder := filepath.Join(top, "2026")
	if err := os.Mkdir(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	above := filepath.Join(top, register.Name)
	if err := os.WriteFile(above, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	log := filepath.Join(folder, "log.xlsx")
	if r, err := OpenRegister(log, at, limit.Limits{}); err != nil || r.Name != above {
		t.Errorf("%+v, %v", r, err)
	}
	if err := os.Chmod(top, fs.ModeSticky|0o777); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(top); err != nil || info.Mode()&fs.ModeSticky == 0 {
		t.Skip("this system has no folders for all")
	}
	if r, err := OpenRegister(log, at, limit.Limits{}); err != nil || r.Name != filepath.Join(folder, register.Name) {
		t.Errorf("%+v, %v", r, err)
	}
}
