package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/xuri/excelize/v2"
	"golang.org/x/term"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/validate"
	"github.com/findslip/findslip/schema"
)

// profileFlags are the options of profile.
type profileFlags struct {
	effective, create, members, force bool
	sheet, out, language              string
}

func (p *program) profileCommand() *cobra.Command {
	var f profileFlags
	c := described("profile", &cobra.Command{
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return p.profile(args, &f) },
	}, "{levels}", levelNames())
	c.Flags().BoolVar(&f.effective, "effective", false, "print what results, as one file, with where each ask comes from")
	c.Flags().BoolVar(&f.create, "new", false, "make a profile, from a filled template or from answers")
	c.Flags().BoolVar(&f.members, "members", false,
		"list what can be asked for: member, heading, and the name of its column in a template, if it has one")
	c.Flags().StringVar(&f.sheet, "sheet", "", "write the workbook in which officers edit the profile")
	c.Flags().StringVarP(&f.out, "output", "o", "", "file to write, - for standard output")
	c.Flags().StringVar(&f.language, "language", "en", "language of the words")
	c.Flags().BoolVar(&f.force, "force", false, "replace a file that is there")
	return c
}

func (p *program) profile(args []string, f *profileFlags) error {
	name := strings.Join(args, "")
	switch {
	case f.members:
		return p.profileMembers(f.language)
	case f.create:
		return p.newProfile(name, f)
	case name == "":
		return errors.New("profile needs a file; see findslip profile --help")
	case strings.EqualFold(filepath.Ext(name), ".xlsx"):
		return p.profileOfSheet(name, f)
	}
	e, list, err := p.anyProfile(name)
	if err != nil {
		return err
	}
	p.tellProfile(list)
	if e == nil {
		return errNotices
	}
	if err := canSpeak(f.language, []*profile.Effective{e}); err != nil {
		return err
	}
	switch {
	case f.sheet != "":
		return p.writeSheet(name, f)
	case f.effective:
		raw, err := e.JSON()
		if err != nil {
			return err
		}
		return p.publish(f.out, f.force, args, func(w io.Writer) error { _, err := w.Write(raw); return err })
	}
	return p.publish(f.out, f.force, args, func(w io.Writer) error {
		for _, line := range e.Say(f.language, len(e.Chain) > 1) {
			if _, err := fmt.Fprintln(w, line); err != nil {
				return err
			}
		}
		_, err := fmt.Fprintf(w, "  %s\n", render.Say(f.language, "pSum", "text", e.Sum))
		return err
	})
}

// anyProfile reads a profile by its file or, shipped, by its id.
func (p *program) anyProfile(name string) (*profile.Effective, notice.List, error) {
	if e := profile.Level(name); e != nil {
		return e, nil, nil
	}
	e, list, err := readProfile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, fmt.Errorf("there is no profile %s; look at the spelling and the folder", name)
	}
	return e, list, err
}

// writeSheet writes the workbook of a profile, without what it has from others.
func (p *program) writeSheet(name string, f *profileFlags) error {
	raw, ok := schema.Profile(name)
	if !ok {
		var err error
		if raw, err = os.ReadFile(name); err != nil {
			return err
		}
	}
	own, list := profile.Parse(filepath.Base(name), raw)
	if len(list) > 0 {
		return errNotices
	}
	return p.publish(f.sheet, f.force, []string{name}, func(w io.Writer) error { return profile.WriteSheet(w, own) })
}

// profileOfSheet makes a profile of the workbook that officers edit.
func (p *program) profileOfSheet(name string, f *profileFlags) error {
	file, err := pipeline.OpenSide(name)
	if err != nil {
		return err
	}
	defer file.Close()
	raw, cells, err := profile.ReadSheet(file)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return p.writeProfile(raw, cells, filepath.Dir(name), []string{name}, f)
}

// writeProfile looks at a profile that was made and writes it.
func (p *program) writeProfile(raw []byte, cells profile.Cells, folder string, inputs []string, f *profileFlags) error {
	if f.out == "" {
		return errors.New("a profile that is made needs a file to write: -o NAME" + profile.Ending)
	}
	root, err := os.OpenRoot(folder)
	if err != nil {
		return err
	}
	defer root.Close()
	beside := profile.Folder(root.FS())
	made := filepath.Base(f.out)
	e, list, err := validate.LoadProfile(made, func(name string) ([]byte, error) {
		if name == made {
			return raw, nil
		}
		return beside(name)
	})
	if err != nil {
		return err
	}
	for i := range list {
		if cell := cells.Of(list[i].Pointer); cell != "" && list[i].File == made {
			list[i].File, list[i].Line = filepath.Base(inputs[0])+", "+cell, 0
		}
	}
	p.tellProfile(list)
	if e == nil {
		p.say("the profile is wrong as it stands and was not written")
		return errNotices
	}
	return p.publish(f.out, f.force, inputs, func(w io.Writer) error { _, err := w.Write(raw); return err })
}

// newProfile makes a profile of a filled template, or of answers.
func (p *program) newProfile(name string, f *profileFlags) error {
	a := profile.Answers{Language: f.language}
	folder := "."
	if name != "" {
		folder = filepath.Dir(name)
		if err := fromTemplate(name, &a); err != nil {
			return err
		}
	}
	if err := p.answers(&a, name == ""); err != nil {
		return err
	}
	raw, err := profile.New(a)
	if err != nil {
		return err
	}
	return p.writeProfile(raw, nil, folder, nil, f)
}

// fromTemplate reads the first rows of the sheets of a template that was filled in: that of finds, and those beside it.
func fromTemplate(name string, a *profile.Answers) error {
	file, err := pipeline.OpenSide(name)
	if err != nil {
		return err
	}
	defer file.Close()
	book, err := excelize.OpenReader(file, excelize.Options{UnzipSizeLimit: 64 << 20, UnzipXMLSizeLimit: 32 << 20})
	if err != nil {
		return fmt.Errorf("%s is no workbook that can be read: %w", name, err)
	}
	defer book.Close()
	for i, sheet := range book.GetSheetList() {
		rows, err := book.GetRows(sheet)
		part := strings.ToLower(sheet)
		if i == 0 {
			part = "finds"
		}
		if err = errors.Join(err, profile.FromTable(part, rows, a)); err != nil {
			return fmt.Errorf("%s, sheet %q: %w", name, sheet, err)
		}
	}
	return nil
}

// answers puts the questions of --new, one a line of standard input; an empty line leaves one out. Where nobody sits at
// a terminal each answer is shown beside its question, so that a line that slipped is seen.
func (p *program) answers(a *profile.Answers, columns bool) error {
	in, typed := bufio.NewReader(io.LimitReader(p.in, 1<<20)), false
	if f, ok := p.in.(interface{ Fd() uintptr }); ok {
		typed = term.IsTerminal(int(f.Fd()))
	}
	put := func(question string) string {
		if typed {
			fmt.Fprintf(p.err, "%s ", question)
		}
		line, _ := in.ReadString('\n')
		line = strings.TrimSpace(line)
		if !typed {
			p.say("%s %s", question, render.Clean(line))
		}
		return line
	}
	list := func(question string) (out []string) {
		for item := range strings.SplitSeq(put(question), ",") {
			if item = strings.TrimSpace(item); item != "" {
				out = append(out, item)
			}
		}
		return out
	}
	if _, err := in.Peek(1); err != nil && !typed {
		return errors.New("profile --new asks its questions in a terminal, and this is none. Write the answers into a " +
			"file, a line each and an empty line for none (who asks; how you are reached; what you do with the finds; " +
			levelNames() + " or nothing; what must be given; what you would like; what is welcome; what you do not want), and " +
			"give it with: findslip profile --new -o NAME" + profile.Ending + " < answers.txt")
	}
	a.Name = put("Who asks? Such as: the county recorder of Thornmere")
	a.Contact = put("How are you reached? No links.")
	a.Purpose = put("What do you do with the finds?")
	switch base := strings.ToLower(put("What do you build on: " + levelNames() + ", or nothing?")); base {
	case "", "nothing", "none", "no":
	default:
		raw, ok := schema.Profile(base)
		if !ok {
			return fmt.Errorf("%.40q is none of %s; leave the line empty to build on nothing", base, levelNames())
		}
		a.BasedOn, a.BaseSum = base, profile.Sum(raw)
	}
	if !columns {
		return nil
	}
	a.Must = list("What must be given? Headings with commas between them, such as: Finder, Material, Date found")
	a.Should = list("What would you like?")
	a.May = list("What is welcome?")
	a.Never = list("What do you not want to be sent?")
	return nil
}

// profileMembers lists what can be asked for.
func (p *program) profileMembers(language string) error {
	var b bytes.Buffer
	for _, pointer := range profile.Members() {
		fmt.Fprintf(&b, "%-34s %-34s %s\n", pointer, profile.NamedBy(pointer, language), profile.Column(pointer))
	}
	_, err := p.out.Write(b.Bytes())
	return err
}
