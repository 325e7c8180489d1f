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

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
)

var mediaRules = []*Rule{partedWithoutPicture, oneSidePictured, pictureWithoutScale, pictureNotFound, pictureChanged,
	pictureShared, pictureBeforeFinding}

var partedWithoutPicture = &Rule{
	Kind: kinds.PartedWithoutPicture,
	// When: There is a class, which is not in the group `waste`; no `media`, which are not excused; and `disposition`
	// is `lent-for-identification`, `lodged-with-recorder`, `statutory-authority`, `museum`, `returned-to-landowner`,
	// `landowner`, `gifted` or `sold`. At `/media`.
	Check: func(c *Case, say Say) {
		f := c.Find
		class := classOf(f)
		if class == "" || len(f.Media) > 0 || excusedBy(f, "/media") || theTables().in("waste", class) {
			return
		}
		if f.Disposition.Is("lent-for-identification", "lodged-with-recorder", "statutory-authority", "museum",
			"returned-to-landowner", "landowner", "gifted", "sold") {
			say("/media", "there is no picture of it, and it is no longer with the finder")
		}
	},
}

// faces counts the sides of the object that pictures show; clear is false where a picture does not
// say what it shows.
func faces(f *find.Find) (n int, clear bool) {
	var front, back, side, unclear bool
	for i := range f.Media {
		switch v := f.Media[i].View; {
		case v == nil, v.Code == "", v.Is("unknown", "other"):
			unclear = true
		case v.Is("front"):
			front = true
		case v.Is("back"):
			back = true
		case v.Is("side", "edge"):
			side = true
		}
	}
	for _, seen := range [...]bool{front, back, side} {
		if seen {
			n++
		}
	}
	return n, !unclear
}

var oneSidePictured = &Rule{
	Kind: kinds.OneSidePictured,
	// When: There are `media`, the find is not several objects, and the class is in neither of the groups `waste` and
	// `projectile`. Of front (`view` `front`), back (`back`) and side (`side` or `edge`) the pictures show just one.
	// Not checked where they show fewer than two and the `view` of a picture has no code, or `unknown` or `other`. At
	// `/media`.
	Check: func(c *Case, say Say) {
		f := c.Find
		if len(f.Media) == 0 || isLot(f) || theTables().in("waste", classOf(f)) || theTables().in("projectile", classOf(f)) {
			return
		}
		n, clear := faces(f)
		switch {
		case n >= 2:
		case !clear:
			c.NotChecked()
		case n == 1:
			say("/media", "the pictures show one side of it only")
		}
	},
}

var pictureWithoutScale = &Rule{
	Kind: kinds.PictureWithoutScale,
	// When: The class is not in the group `waste`, there are no `dimensions`, no picture has `scale` true, and there
	// is a picture with a `view` other than `in-hole`, `hole-section`, `landscape` and `group`, or without one. At
	// `/media`.
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Dimensions != nil || theTables().in("waste", classOf(f)) {
			return
		}
		object := false
		for i := range f.Media {
			m := &f.Media[i]
			if m.Scale != nil && *m.Scale {
				return
			}
			object = object || !m.View.Is("in-hole", "hole-section", "landscape", "group")
		}
		if object {
			say("/media", "no picture of it says that a scale is in the frame, and no size is given")
		}
	},
}

var pictureNotFound = &Rule{
	Kind: kinds.PictureNotFound,
	// When: `file` of a picture is the name of no file beside the report. Not checked where the files are not at hand,
	// the name leads outside, or the file cannot be asked for. At each `/media/N/file`.
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
	// When: A picture has `file` and `sha256`, and the SHA-256 of the file beside the report is another. Not checked
	// where the file cannot be read; one that is not there is for `picture-not-found`. At each `/media/N/sha256`.
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
	// When: Two finds of the file have a picture with one `sha256`, or for want of that one `file`; names are compared
	// letter for letter, and pictures with the `view` `group`, `in-hole`, `hole-section` or `landscape` are not looked
	// at. At `/media/N` of each find but the first.
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
	// When: The day of `takenAt` of a picture, or for want of it that which the file says (Exif), lies before the
	// first of the days of finding; where the time has an offset or `Z`, the day after it does. Not checked where
	// `takenAt` is missing and the files are not at hand. At each `/media/N/takenAt`, or `/media/N/file` where the
	// file says it.
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
