package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/validate"
)

// addProfile adds the flag by which profiles are named.
func addProfile(c *cobra.Command, names *[]string) {
	c.Flags().StringArrayVar(names, "profile", nil,
		"what a receiver asks, as a file NAME.findslip-profile.json or the id of a level; may be given several times")
}

// addLevel adds the flag that names a level.
func addLevel(c *cobra.Command, level *string) {
	c.Flags().StringVar(level, "level", profile.DefaultLevel(), "how much a record must say: "+levelNames())
}

// levelNames are the levels that are shipped.
func levelNames() string { return strings.Join(profile.LevelNames(), ", ") }

// loadProfile reads a profile from a file, with those beside it that it is based on, or a shipped one by its id.
// Its notices are told; a wrong profile is an error, and never a fault of a log.
func (p *program) loadProfile(name string) (*profile.Effective, error) {
	e, list, err := p.anyProfile(name)
	if err != nil {
		return nil, fmt.Errorf("--profile: %w", err)
	}
	if e == nil {
		p.sayProfile(list) // what is no error is for its writer: findslip profile says it
		return nil, &profileError{worst(list),
			fmt.Sprintf("the profile %s is wrong and was not used; this is no fault of your log. Tell whoever sent it, or see "+
				"findslip profile %s", name, name)}
	}
	return e, nil
}

// canSpeak says that there are no words in a language: it is none of those of Findslip, and no profile has texts in it.
func canSpeak(language string, profiles []*profile.Effective) error {
	languages := render.Languages()
	for _, e := range profiles {
		languages = append(languages, e.Languages...)
	}
	if !slices.Contains(languages, language) {
		slices.Sort(languages)
		return fmt.Errorf("--language %q is not one of %s", language, strings.Join(slices.Compact(languages), ", "))
	}
	return nil
}

// profileError says that a profile is wrong, under the code of the first thing that is wrong with it.
type profileError struct{ code, message string }

func (e *profileError) Error() string { return e.message }

// worst is the code of the first error of a list.
func worst(list notice.List) string {
	if i := slices.IndexFunc(list, func(n notice.Notice) bool { return n.Kind.Severity == notice.Error }); i >= 0 {
		return list[i].Kind.Code
	}
	return ""
}

// readProfile reads a profile from its folder.
func readProfile(name string) (*profile.Effective, notice.List, error) {
	root, err := os.OpenRoot(filepath.Dir(name)) // so that no name or link leads outside
	if err != nil {
		return nil, nil, err
	}
	defer root.Close()
	return validate.LoadProfile(filepath.Base(name), profile.Folder(root.FS()))
}

// sayProfile tells what is to be said of a profile, a line for each.
func (p *program) sayProfile(list notice.List) {
	if !p.quiet {
		p.tellProfile(list)
	}
}

func (p *program) tellProfile(list notice.List) {
	for i := range list {
		fmt.Fprintln(p.err, profileLine(&list[i]))
	}
}

// profileLine is one line about a profile: where, how grave, what, and what to do.
func profileLine(n *notice.Notice) string {
	at := n.File
	if n.Line > 0 {
		at = fmt.Sprintf("%s:%d", at, n.Line)
	}
	return render.Clean(fmt.Sprintf("%s: %s: %s. %s [%s]", at, n.Kind.Severity, n.Message, n.HelpText(), n.Kind.Code))
}

// profiles reads the profiles that are named, as they are put to a log whose copy is for an audience.
func (p *program) profiles(names []string, audience string, o *pipeline.Options) error {
	refused, err := p.soundProfiles(names, audience, o)
	return errors.Join(err, refused)
}

// soundProfiles is profiles for who goes on without those that cannot be used.
func (p *program) soundProfiles(names []string, audience string, o *pipeline.Options) (refused, err error) {
	if len(names) == 0 {
		return nil, nil
	}
	whose := share.Recorder
	if audience != "" {
		if whose, err = share.ParseAudience(audience); err != nil {
			return nil, fmt.Errorf("--for: %w", err)
		}
	}
	for _, name := range names {
		e, err := p.loadProfile(name)
		if err != nil {
			refused = errors.Join(refused, err)
			continue
		}
		p.sayProfile(e.Remarks(o.Read.AsOf.String()))
		o.Profiles = append(o.Profiles, share.Put(e, whose))
	}
	return refused, nil
}
