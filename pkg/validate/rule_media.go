package validate

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/maphash"
	"io"
	"io/fs"
	"path"

	"github.com/findslip/findslip/pkg/internal/kinds"
)

var mediaRules = []*Rule{pictureNotFound, pictureChanged,
	pictureShared, pictureBeforeFinding}

var pictureNotFound = &Rule{
	Kind: kinds.PictureNotFound,
	Check: func(c *Case, say Say) {
		for i := range c.Find.Media {
			m := &c.Find.Media[i]
			if m.File == "" {
				continue
			}
			if c.Files == nil || !fs.ValidPath(path.Clean(m.File)) {
				c.NotChecked()
				continue
			}
			if _, err := fs.Stat(c.Files, path.Clean(m.File)); errors.Is(err, fs.ErrNotExist) {
				say(fmt.Sprintf("/media/%d/file", i), "there is no such file beside the report")
			} else if err != nil {
				c.NotChecked()
			}
		}
	},
}

var pictureChanged = &Rule{
	Kind: kinds.PictureChanged,
	Check: func(c *Case, say Say) {
		for i := range c.Find.Media {
			m := &c.Find.Media[i]
			if m.SHA256 == "" || m.File == "" {
				continue
			}
			sum, err := checksum(c.Files, m.File)
			switch {
			case errors.Is(err, fs.ErrNotExist) && c.Files != nil: // told by picture-not-found
			case err != nil:
				c.NotChecked()
			case sum != m.SHA256:
				say(fmt.Sprintf("/media/%d/sha256", i), "the file is not the one whose checksum was recorded")
			}
		}
	},
}

// checksum returns the SHA-256 of a file in lower-case hexadecimal.
func checksum(files fs.FS, name string) (string, error) {
	if files == nil || !fs.ValidPath(path.Clean(name)) {
		return "", fs.ErrInvalid
	}
	r, err := files.Open(path.Clean(name))
	if err != nil {
		return "", err
	}
	defer r.Close()
	h := sha256.New()
	if _, err := io.Copy(h, r); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

var pictureShared = &Rule{
	Kind: kinds.PictureShared,
	Across: func() Across {
		seed := maphash.MakeSeed()
		seen := map[uint64]int32{} // checksum or file name to the find that had it first
		return Across{Find: func(c *Case, ref Ref, say Say) {
			for i := range c.Find.Media {
				m := &c.Find.Media[i]
				if m.View.Is("group", "in-hole", "hole-section", "landscape") {
					continue
				}
				key := m.SHA256
				if key == "" {
					key = m.File
				}
				if key == "" {
					continue
				}
				id := maphash.String(seed, key)
				first, again := seen[id]
				switch {
				case !again:
					seen[id] = int32(ref.Index)
				case int(first) != ref.Index:
					say(fmt.Sprintf("/media/%d", i), fmt.Sprintf("find %d of the file has the same picture", first+1))
				}
			}
		}}
	},
}

var pictureBeforeFinding = &Rule{
	Kind: kinds.PictureBeforeFinding,
	Check: func(c *Case, say Say) {
		if len(c.Find.Media) == 0 {
			return
		}
		found, ok := c.found()
		if !ok {
			return
		}
		for i := range c.Find.Media {
			m := &c.Find.Media[i]
			stated, at := m.TakenAt, "takenAt"
			if stated == "" {
				if c.Files == nil {
					c.NotChecked() // the picture itself may say it
					continue
				}
				stated, _ = takenAt(c, m.File)
				at = "file"
			}
			taken, ok := momentOf(stated)
			if !ok {
				continue
			}
			day := taken.day
			if taken.zone != local { // the finder's own day may be the next one
				day = day.AddDays(1)
			}
			if day.Compare(found.first) < 0 {
				say(fmt.Sprintf("/media/%d/%s", i, at), "the picture was taken before the day of finding")
			}
		}
	},
}
