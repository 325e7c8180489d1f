package main

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
)

// shareFlags are the options of share.
type shareFlags struct {
	inputFlags
	audience, receiver, out, format, policy, earlier, language, words string
	permissions, finds                                                []string
	force, plain, noStamp, notes, holdBack                            bool
	newRegister, noRegister, ownIDs, district                         bool
}

func (p *program) shareCommand() *cobra.Command {
	var f shareFlags
	c := described("share", &cobra.Command{
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return p.share(c.Context(), args[0], f) },
	})
	f.add(c)
	f.addSharing(c)
	c.Flags().StringVarP(&f.out, "output", "o", "", "file to write, - for standard output")
	c.Flags().StringVar(&f.format, "format", "", "format to write, or html for a page (default: by the name of the file)")
	c.Flags().BoolVar(&f.notes, "notes", false,
		"keep the notes in which nothing is found that leaks, and say of the others where it stands")
	c.Flags().BoolVar(&f.force, "force", false, "replace a file that is there")
	c.Flags().BoolVar(&f.plain, "plain", false, "tables without the canonical columns")
	c.Flags().StringVar(&f.language, "language", "",
		"language of the page for a landowner: en, de, nl, da, fr or sv (default: that of the log, else en)")
	_ = c.MarkFlagRequired("for")
	return c
}

// addSharing adds the flags that share and pack have in common.
func (f *shareFlags) addSharing(c *cobra.Command) {
	c.Flags().StringVar(&f.audience, "for", "", "partner, club, landowner, expert, recorder or public")
	c.Flags().StringVar(&f.receiver, "to", "", "the person or body that the copy is for")
	c.Flags().StringArrayVar(&f.permissions, "permission", nil,
		"local id of a permission of the landowner's own land, or the name of that land")
	c.Flags().StringArrayVar(&f.finds, "find", nil, "number of a find that goes; without it all that the audience may see")
	c.Flags().StringVar(&f.policy, "policy", "", "make the table of leaves by audience stricter, from this JSON file")
	c.Flags().StringVar(&f.words, "words", "",
		"list of the words left out, as CSV: written where it is not there; \"yes\" in its last column lets them go")
	c.Flags().BoolVar(&f.district, "district", false, "tell region and country in words in place of a circle")
	c.Flags().StringVar(&f.earlier, "earlier", "",
		"where something finer was told before: go-on, again or withhold (default: stop and say so)")
	c.Flags().BoolVar(&f.newRegister, "new-register", false,
		"begin a new register, although copies of the log were handed out")
	c.Flags().BoolVar(&f.noRegister, "no-register", false,
		"keep no register and compare with none; the ids of the copy are then of this once")
	c.Flags().BoolVar(&f.ownIDs, "own-ids", false, "for a recorder: keep your own ids")
	c.Flags().BoolVar(&f.holdBack, "hold-back", false,
		"withhold the words in which something leaks, and say which, in place of stopping")
	c.Flags().BoolVar(&f.noStamp, "no-stamp", false, "do not say in the copy when it was made")
}

// sharedMemory is what a copy takes before the collector works harder; a log of a hundred thousand finds stays within.
const sharedMemory = 130 << 20

func (p *program) share(ctx context.Context, in string, f shareFlags) error {
	o, s, err := f.options(p)
	if err != nil {
		return err
	}
	folder, err := f.folder(o)
	if err != nil {
		return err
	}
	var made *pictureFolder
	if folder != "" {
		if made, err = newPictureFolder(folder); err != nil {
			return err
		}
		defer made.discard()
		s.Pictures, s.SavePicture = filepath.Base(folder), made.save
	}
	if f.out != "-" {
		if err := (pipeline.Output{Name: f.out, Force: f.force, Inputs: []string{in}}).Check(); err != nil {
			return err
		}
		s.Name = filepath.Base(f.out)
	}
	if s.Keep, err = p.register(in, f, s.Audience); err != nil {
		return err
	}
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(sharedMemory)) // facts of a long log stay while its finds go through
	r, err := pipeline.Share(ctx, in, o, s)
	if err != nil {
		return err
	}
	defer r.Close()
	if err := p.stopped(r, s); err != nil {
		return err
	}
	p.sayCircles(r.Copy, f.district)
	if err := p.writeWords(f.words, r.Copy.Doubts); err != nil {
		return err
	}
	if err := p.output(f.out, f.force, []string{in},
		r.Pass); err != nil {
		return err
	}
	if made != nil {
		if err := made.keep(); err != nil {
			return err
		}
	}
	p.afterShare(r, s)
	return p.commit(ctx, r, o, s.Name, r.Sum())
}

// register opens the register of a log. A copy for yourself needs none, and what comes from standard input
// has no place for one.
func (p *program) register(in string, f shareFlags, a share.Audience) (*pipeline.RegisterFile, error) {
	if a == share.Self {
		return nil, nil
	}
	if f.noRegister {
		p.say("warning: with --no-register this copy is compared with none: its circles may differ from those of other " +
			"copies, and two together tell more than one")
		return nil, nil
	}
	if in == "-" {
		p.say("warning: there is no place for a register beside standard input: this copy is not compared with others, and " +
			"its ids are of this once")
		return nil, nil
	}
	r, err := pipeline.OpenRegister(in, time.Now().UTC().Format(time.RFC3339), p.limits)
	if err != nil {
		return nil, err
	}
	for _, name := range r.United {
		p.say("a second copy of the register, %s, was taken into it; you can delete that file", render.Clean(name))
	}
	if r.Fresh && !f.newRegister && pipeline.SharedBefore(in) {
		return nil, fmt.Errorf("%w; without it nobody can say what two copies tell together: put %s back from a backup or "+
			"another machine, or begin a new one with --new-register", pipeline.ErrNoRegister, register.Name)
	}
	return r, nil
}

// stopped says what stops a copy: a leak ends with status 1; what was told before, and what could not be
// looked into, with status 2.
func (p *program) stopped(r *pipeline.Shared, s pipeline.ShareOptions) error {
	switch {
	case len(r.Told) > 0 && s.Earlier != pipeline.GoOn:
		p.sayTold(r)
		return fmt.Errorf("nothing was written; say what is to be done with these finds: --earlier go-on, --earlier again " +
			"(tell the earlier region once more) or --earlier withhold (leave them out)")
	case len(r.Leaks) > 0:
		return p.leaks(r)
	case len(r.NameLeaks) > 0:
		return fmt.Errorf("nothing was written, for the name of the file tells a %s that its reader may not know: give -o "+
			"another name",
			render.Clean(r.NameLeaks[0].Kind))
	case len(r.Unlooked) > 0:
		return fmt.Errorf("nothing was written, for a part of the copy could not be looked into: %s",
			render.Clean(strings.Join(r.Unlooked, "; ")))
	}
	p.sayTold(r)
	return nil
}

// sayTold names the finds of which the receiver would know more than the copy alone tells.
func (p *program) sayTold(r *pipeline.Shared) {
	for i, n := range r.Told {
		if i == 20 {
			p.say("  and %d more", len(r.Told)-i)
			break
		}
		p.say("warning: find %s, with the copy for %s of %s (%s): %s", render.Clean(n.Find), n.With.Audience,
			render.Clean(n.With.Day), render.Clean(n.With.File), n.Text)
	}
}

// commit notes the copy in the register, and says which earlier ones it takes the place of.
func (p *program) commit(ctx context.Context, r *pipeline.Shared, o pipeline.Options, file, sum string) error {
	day := o.Read.AsOf.String()
	if o.Read.AsOf.IsZero() {
		day = time.Now().Format(time.DateOnly)
	}
	recalled, err := r.Commit(ctx, time.Now().UTC().Format(time.RFC3339Nano), day, file, sum, p.limits)
	if err != nil {
		return fmt.Errorf("the copy is written, but the register could not be kept, so that later copies are not compared "+
			"with it: %w", err)
	}
	for _, e := range recalled {
		p.say("it takes the place of copy %s of %s, %s; ask its receiver to delete that one", e.Copy, e.Day,
			render.Clean(e.File))
	}
	return nil
}

func (f *shareFlags) options(p *program) (o pipeline.Options, s pipeline.ShareOptions, err error) {
	if o, err = f.inputFlags.options(p); err != nil {
		return o, s, err
	}
	if s.Audience, err = share.ParseAudience(f.audience); err != nil {
		return o, s, fmt.Errorf("--for: %w", err)
	}
	ext := strings.ToLower(filepath.Ext(f.out))
	switch {
	case f.out == "":
		return o, s, fmt.Errorf("share needs a file to write: -o OUT, or -o - for standard output")
	case f.format == string(pipeline.Page), f.format == "" && (ext == ".html" || ext == ".htm"):
		o.To, o.Generator = pipeline.Page, "findslip "+version()
		if !share.HasSheet(s.Audience) {
			return o, s, fmt.Errorf("there is a page for landowner and expert only; give another format for %s, such as -o "+
				"OUT.xlsx", s.Audience)
		}
	default:
		if o.To, err = targetOf(f.format, f.out); err != nil {
			if f.format != "" {
				err = fmt.Errorf("%w, or html for a page", err)
			}
			return o, s, err
		}
	}
	o.Plain, o.Language = f.plain, f.language
	return o, s, f.sharing(p, &s)
}

// sharing sets what share and pack have in common.
func (f *shareFlags) sharing(p *program, s *pipeline.ShareOptions) (err error) {
	switch f.earlier {
	case "", pipeline.GoOn, pipeline.TellAgain, pipeline.Withhold:
	default:
		return fmt.Errorf("--earlier %q is not one of go-on, again, withhold", f.earlier)
	}
	s.Permissions, s.Finds, s.Notes, s.HoldBack = f.permissions, f.finds, f.notes, f.holdBack
	s.Receiver, s.OwnIDs, s.District, s.Earlier = f.receiver, f.ownIDs, f.district, f.earlier
	changed, day := stamp(s.Audience, f.asOf)
	if s.Day = day; !f.noStamp {
		s.Changed = changed
	}
	if s.Policy, err = readPolicy(f.policy, p.limits); err == nil {
		err = f.passWords(s)
	}
	return err
}

// passWords lets the words go that the owner has passed in the list of those left out earlier.
func (f *shareFlags) passWords(s *pipeline.ShareOptions) error {
	if f.words == "" {
		return nil
	}
	file, err := os.Open(f.words)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	} else if err != nil {
		return fmt.Errorf("--words: %w", err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		return fmt.Errorf("--words %s: %w", f.words, err)
	}
	for _, row := range rows {
		if n := len(row); n == 4 && strings.EqualFold(strings.TrimSpace(row[3]), "yes") {
			s.Policy = s.Policy.Pass(row[2])
		}
	}
	return nil
}

// writeWords writes the list of words that were left out, where it is not there yet.
func (p *program) writeWords(name string, doubts []share.Doubt) error {
	if _, err := os.Stat(name); name == "" || err == nil {
		return nil
	}
	rows := [][]string{{"Find", "Member", "Words", "May they go? (yes)"}}
	for _, d := range doubts {
		for _, words := range d.Words {
			rows = append(rows, []string{d.Find, strings.TrimPrefix(d.Member, "finds."), words, ""})
		}
	}
	err := p.output(name, false, nil, func(w io.Writer) error { return csv.NewWriter(w).WriteAll(rows) })
	if err == nil {
		p.say("what was left out stands in %s, for you alone: write yes behind what may go, and share again",
			render.Clean(name))
	}
	return err
}

// stamp says when a copy is made: now, or on the day that counts as today. The hour would tell the
// public and an expert of two copies that one hand made them.
func stamp(a share.Audience, asOf string) (changed, day string) {
	now := time.Now()
	if asOf != "" {
		return asOf + "T00:00:00Z", asOf
	}
	day = now.Format(time.DateOnly)
	if a == share.Public || a == share.Expert {
		return day + "T00:00:00Z", day
	}
	return now.UTC().Format(time.RFC3339), day
}

// readPolicy reads the finder's own policy; no name is the published table.
func readPolicy(name string, limits limit.Limits) (*share.Policy, error) {
	if name == "" {
		return nil, nil
	}
	r, err := pipeline.OpenSide(name)
	if err != nil {
		return nil, fmt.Errorf("--policy: %w", err)
	}
	defer r.Close()
	policy, err := share.ReadPolicy(r, limits)
	if err != nil {
		return nil, fmt.Errorf("--policy %s: %w", name, err)
	}
	return policy, nil
}

// folder names the folder of the pictures, empty where none are to be written.
func (f *shareFlags) folder(o pipeline.Options) (string, error) {
	if o.Files == nil || o.To == pipeline.Page || f.audience == string(share.Self) || f.audience == string(share.Public) {
		return "", nil
	}
	if f.out == "-" {
		return "", fmt.Errorf("pictures cannot go to standard output: name a file with -o, or leave --pictures out")
	}
	stem := filepath.Base(f.out)
	stem, _, _ = strings.Cut(stem, ".")
	return filepath.Join(filepath.Dir(f.out), stem+"-pictures"), nil
}

// afterShare says what was made and what a person should look at.
func (p *program) afterShare(r *pipeline.Shared, s pipeline.ShareOptions) {
	for _, text := range r.LeftOut {
		p.say("warning: a picture stays behind: %s", render.Clean(text))
	}
	p.sayHeld(r)
	p.sayDoubts(r.Copy)
	for _, held := range r.Copy.Held {
		p.say("warning: notes are kept back: %s", render.Clean(held.String()))
	}
	if s.Audience == share.Expert {
		err := r.Copy.Each(context.Background(), func(f *find.Find) error {
			if lacks := share.Lacks(f); f.Question != "" && len(lacks) > 0 {
				p.say("warning: find %s lacks, before it may go out: %s", render.Clean(f.Number), strings.Join(lacks, "; "))
			}
			return nil
		})
		if err != nil {
			p.say("warning: what the finds lack could not be looked at: %v", err)
		}
	}
	if s.Audience == share.Landowner {
		named := false
		err := r.Copy.Each(context.Background(), func(f *find.Find) error {
			who := r.Copy.Report.Person(f.Finder)
			named = named || who != nil && who.Name != ""
			return nil
		})
		if err == nil && !named {
			p.say("no finder is named in it: none has a consent for landowner among the people of your log")
		}
	}
	p.sayOut(r.Copy.Out, "left out without a word in the copy")
	p.say("a copy of %s for %s; %s left out; read it before you hand it on", counted(r.Copy.Len(), "find"),
		s.Audience, counted(r.Left, "find"))
}

// sayHeld tells what could not be read, and what was withheld because something leaked in it.
func (p *program) sayHeld(r *pipeline.Shared) {
	if r.Unread > 0 {
		p.say("warning: %s of the source could not be read, and nothing of that is in the copy; findslip check says where",
			counted(r.Unread, "piece"))
	}
	for _, text := range r.Copy.Unseen {
		p.say("warning: %s", render.Clean(text))
	}
	for _, land := range r.Copy.Apart {
		p.say("warning: the finds on %s lie in places a kilometre or more apart; if that is two fields of one name, each "+
			"owner "+
			"would read of the other's: give them two names, and share again", render.Clean(land))
	}
	for i, s := range r.HeldBack {
		if i == 20 {
			p.say("  and %d more", len(r.HeldBack)-i)
			break
		}
		p.say("held back: %s", render.Clean(s.String()))
	}
}

// sayDoubts names all words that were withheld because they may tell a place.
func (p *program) sayDoubts(c *share.Copied) {
	var list []share.LeftOut
	for _, d := range c.Doubts {
		of := strings.TrimSpace(d.Find + " " + strings.TrimPrefix(d.Member, "finds."))
		list = append(list, share.LeftOut{Find: of, Why: d.Why})
	}
	p.sayOut(list, "held back, for it may tell a place, a person or a day")
	if len(list) > 0 {
		p.say("  to see the words, and to let some of them go: --words FILE.csv")
	}
}

// sayCircles says, before anything is written, what a stranger sees of the places.
func (p *program) sayCircles(c *share.Copied, district bool) {
	const most = 6
	if district && len(c.Circles()) > 0 {
		p.say("no region or country of the published list stands beside these finds: the square is told in its place")
	}
	for i, circle := range c.Circles() {
		if i == most {
			p.say("  and %d more circles", len(c.Circles())-i)
			break
		}
		p.say("place: a stranger sees a circle of %s around the middle of a square of %s degree; %s in it",
			kilometres(circle.Radius), strings.TrimPrefix(circle.Grid, "grid-"), counted(circle.Finds, "find"))
	}
}

func kilometres(metres float64) string {
	if metres < 10_000 {
		return fmt.Sprintf("%.1f km", metres/1000)
	}
	return fmt.Sprintf("%.0f km", metres/1000)
}

// sayOut says which finds are left out, all of them, and why; what is made for others says nothing of them.
func (p *program) sayOut(left []share.LeftOut, how string) {
	byWhy := map[string][]string{}
	for _, out := range left {
		byWhy[out.Why] = append(byWhy[out.Why], render.Clean(out.Find))
	}
	for _, why := range slices.Sorted(maps.Keys(byWhy)) {
		line := how + " (" + why + "): "
		for i, label := range byWhy[why] {
			if i > 0 {
				line += ","
				if len(line)+len(label) > 110 {
					p.say("%s", line)
					line = " "
				}
				line += " "
			}
			line += label
		}
		p.say("%s", line)
	}
}

// leaks tells what leaks and ends the command with status 1.
func (p *program) leaks(r *pipeline.Shared) error {
	fmt.Fprintf(p.err, "findslip: the copy would give away what its audience may not see; nothing was written\n")
	p.listLeaks(p.err, r.Leaks, r.Whose)
	for i, s := range r.Spans {
		if i == 20 {
			fmt.Fprintf(p.err, "  and %d more\n", len(r.Spans)-i)
			break
		}
		fmt.Fprintf(p.err, "  in %s\n", render.Clean(s.String()))
	}
	fmt.Fprintf(p.err, "  Take it out of the words of the source, or withhold those words: --hold-back, or --policy for "+
		"all records.\n")
	return errNotices
}

// pictureFolder gathers the pictures of a copy beside their place until it is known that the copy
// may be written.
type pictureFolder struct{ part, name string }

func newPictureFolder(name string) (*pictureFolder, error) {
	if _, err := os.Lstat(name); err == nil {
		return nil, fmt.Errorf("writing %s: there is a folder of that name already; move it away or choose another name "+
			"for the copy", name)
	}
	part, err := os.MkdirTemp(filepath.Dir(name), ".findslip-*.part")
	if err != nil {
		return nil, fmt.Errorf("writing %s: %w", name, err)
	}
	return &pictureFolder{part, name}, nil
}

// save takes a picture by its name in the copy, which begins with that of the folder.
func (f *pictureFolder) save(name string, data []byte) error {
	return os.WriteFile(filepath.Join(f.part, filepath.Base(filepath.FromSlash(name))), data, 0o644)
}

func (f *pictureFolder) keep() error {
	entries, err := os.ReadDir(f.part)
	if err != nil || len(entries) == 0 {
		return err
	}
	if err := os.Chmod(f.part, 0o755); err != nil {
		return err
	}
	return os.Rename(f.part, f.name)
}

func (f *pictureFolder) discard() { os.RemoveAll(f.part) }
