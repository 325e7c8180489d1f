package pipeline

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

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/share"
)

// Pack reads a report of any format and makes a hand-over of it: the report in canonical form, its
// pictures from Options.Files, else from the folder of the report, the notices on it, the schemas
// and the code lists. A picture that is not there does not stop it and is reported.
//
// For the finder, and where s names no audience, the report and its pictures go as they are; where the
// report itself is a copy for others, a picture that carries its position, a serial number or its owner
// stays behind. For another audience a copy is made, as Share does, and packed: its pictures are made
// anew, without metadata and under names that say nothing. If the copy leaks, Packed.Shared says where,
// and there is nothing to be written.
func Pack(ctx context.Context, name string, o Options, p PackOptions, s ShareOptions) (*Packed, error) {
	if s.Audience == share.Self || s.Audience == "" {
		if len(o.Profiles) > 0 {
			return nil, errors.New("a profile chooses no audience: say whose copy it is to be, such as --for recorder")
		}
		return pack(ctx, name, o, p)
	}
	files, done, err := o.beside(name)
	if err != nil {
		return nil, fmt.Errorf("packing %s: %w", name, err)
	}
	o.Files = files
	folder, err := os.MkdirTemp("", "findslip-*")
	if err != nil {
		return nil, errors.Join(fmt.Errorf("packing %s: %w", name, err), done())
	}
	o.Unfinished.begin(folder)
	remove := func() error {
		defer o.Unfinished.end(folder)
		return os.RemoveAll(folder)
	}
	out, err := packFor(ctx, name, o, p, s, folder)
	if err = errors.Join(err, done()); err != nil {
		return nil, errors.Join(err, remove())
	}
	closing := out.close
	out.close = func() error { return errors.Join(closing(), remove()) }
	return out, nil
}

// pictureFolder is the folder of the pictures beside a report that was made for an audience.
const pictureFolder = "pictures"

func packFor(ctx context.Context, name string, o Options, p PackOptions, s ShareOptions, folder string) (*Packed,
	error) {
	if err := os.Mkdir(filepath.Join(folder, pictureFolder), 0o700); err != nil {
		return nil, fmt.Errorf("packing %s: %w", name, err)
	}
	s.Name, s.Pictures = p.Name, pictureFolder
	s.SavePicture = func(name string, data []byte) error {
		return os.WriteFile(filepath.Join(folder, pictureFolder, path.Base(name)), data, 0o600)
	}
	o.To = Findslip
	shared, err := Share(ctx, name, o, s)
	if err != nil {
		return nil, err
	}
	if !shared.Made {
		return &Packed{Shared: shared, close: func() error { return nil }}, nil
	}
	root, err := os.OpenRoot(folder)
	if err != nil {
		return nil, fmt.Errorf("packing %s: %w", name, err)
	}
	inner := o
	inner.From, inner.Stdin, inner.Files = Findslip, bytes.NewReader(shared.Data()), root.FS()
	p.left = len(shared.LeftOut)
	out, err := pack(ctx, "-", inner, p)
	if err != nil {
		return nil, errors.Join(err, root.Close())
	}
	packed := out.close
	out.Shared, out.close = shared, func() error { return errors.Join(packed(), root.Close()) }
	// What is packed beside the copy is looked through as well: the notices and the label.
	for _, file := range out.bag.Files {
		if file.Name != packNotices && file.Name != packRead && file.Name != packFront && path.Ext(file.Name) != ".xlsx" {
			continue
		}
		looked, err := leaksOf(ctx, file.Open, shared, o.Limits)
		if err != nil {
			return nil, errors.Join(fmt.Errorf("packing %s: %w", name, err), out.close())
		}
		shared.Leaks, shared.Unlooked = append(shared.Leaks, looked.Leaks...), append(shared.Unlooked, looked.Unread...)
	}
	return out, nil
}

// tells reports whether a picture carries what its reader may not know. One that cannot be read does.
func tells(files fs.FS, name string, most int64) bool {
	f, err := files.Open(name)
	if err != nil {
		return true
	}
	defer f.Close()
	data, err := limit.ReadAll(f, "picture", most)
	if err != nil {
		return true
	}
	for _, what := range picture.Carries(data) {
		switch what {
		case "position", "serial-number", "owner", "words", "maker-note", "trailer":
			return true
		}
	}
	return picture.Extension(data) == "" // what cannot be looked into
}

func leaksOf(ctx context.Context, open func() (io.ReadCloser, error), shared *Shared,
	limits limit.Limits) (looked share.Looked, err error) {
	r, err := open()
	if err != nil {
		return looked, err
	}
	defer r.Close()
	data, err := limit.ReadAll(r, "held", limits.WithDefaults().Held)
	if err != nil {
		return looked, err
	}
	return shared.search.File(ctx, bytes.NewReader(data), int64(len(data)), limits)
}
