package pipeline

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/spreadsheet"
	"github.com/findslip/findslip/pkg/validate"
)

// Beside says how settings files are used: what the keeper of a log states once for all of it.
type Beside struct {
	File     string                // the settings to use; empty: those beside each log, where there are any
	Settings *spreadsheet.Settings // in the place of a file, for whoever has them at hand
	Say      func(string)          // is told which were used, or why not, each thing once
	// is told of settings that cannot be used, and the log is read without; nil: it is not read
	Wrong func(error)

	said map[string]bool
}

// settingsEnding is how the name of a settings file ends.
const settingsEnding = ".findslip-settings.json"

// IsSettingsName reports whether a file of this name says how a log is read.
func IsSettingsName(base string) bool {
	return strings.HasSuffix(strings.ToLower(base), settingsEnding)
}

// SettingsName is the name of the settings file of a log: season.findslip-settings.json beside season.xlsx.
func SettingsName(log string) string {
	return strings.TrimSuffix(log, filepath.Ext(log)) + settingsEnding
}

// stated is what a settings file says of a log.
type stated struct {
	*spreadsheet.Settings
	protected *validate.Protected
}

// besideLog returns the settings of a log that has been opened; nil where there are none, or where they are not of it.
func (o *Options) besideLog(name string, src source, format Format) (*stated, error) {
	s, err := o.settingsOf(name, src, format)
	if err != nil && o.Beside.Wrong != nil {
		o.Beside.Wrong(err)
		return nil, nil
	}
	return s, err
}

func (o *Options) settingsOf(name string, src source, format Format) (*stated, error) {
	if o.Beside == nil || format != XLSX && format != CSV {
		return nil, nil
	}
	file, s := o.Beside.File, o.Beside.Settings
	own := file == "" && s == nil
	if s != nil {
		file = SettingsName(Base(name))
	}
	if own {
		if name == "-" || o.FS != nil || o.member != "" || o.wrapped || o.found {
			return nil, nil
		}
		file = SettingsName(name)
		if !isOwnFile(file, name) {
			return nil, nil
		}
	}
	if s == nil {
		var err error
		if s, err = readSettings(file, o.Limits); err != nil {
			return nil, err
		}
	}
	t := o.Table
	t.File, t.Limits = name, o.Limits
	sum, err := spreadsheet.HeadingsSum(src, t)
	if err != nil {
		return nil, nil // the reading of the log says what is wrong
	}
	switch {
	case sum == s.Headings:
	case own, o.Beside.Settings != nil:
		o.Beside.say("%s was not used: it was written for other headings than %s has now. Write it anew: findslip columns "+
			"%s --ask",
			filepath.Base(file), Base(name), Base(name))
		return nil, nil
	default:
		return nil, &InputError{File: file, Code: "settings-of-another-log",
			Msg:  "these settings were written for a log with other headings than " + Base(name),
			Help: "findslip columns " + Base(name) + " --ask writes settings for it"}
	}
	out := &stated{Settings: s}
	if s.Protected != "" && o.Beside.Settings == nil {
		if out.protected, err = readProtected(filepath.Join(filepath.Dir(file), s.Protected), o.Limits); err != nil {
			return nil, err
		}
	}
	o.Beside.say("%s is read by %s: %s. To leave that out: --no-settings", Base(name), filepath.Base(file), out.says())
	return out, nil
}

func (b *Beside) say(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if b.Say == nil || b.said[text] {
		return
	}
	if b.said == nil {
		b.said = map[string]bool{}
	}
	b.said[text] = true
	b.Say(text)
}

// ProfileBeside is the file of the profile that the settings of a log name, empty where there are none.
func ProfileBeside(log string, o Options) string {
	if o.Beside == nil || o.FS != nil || log == "-" {
		return ""
	}
	file := o.Beside.File
	if file == "" {
		if file = SettingsName(log); !isOwnFile(file, log) {
			return ""
		}
	}
	s, err := readSettings(file, o.Limits)
	if err != nil || s.Profile == "" {
		return "" // the reading of the log says what is wrong
	}
	return filepath.Join(filepath.Dir(file), s.Profile)
}

func readSettings(file string, limits limit.Limits) (*spreadsheet.Settings, error) {
	f, err := OpenSide(file)
	if err != nil {
		return nil, fmt.Errorf("the settings: %w", err)
	}
	defer f.Close()
	s, err := spreadsheet.ReadSettings(f, limits)
	if err != nil {
		return nil, &InputError{File: file, Code: "settings-refused", Msg: err.Error(),
			Help: "mend the file, or leave it out with --no-settings"}
	}
	return s, nil
}

func readProtected(file string, limits limit.Limits) (*validate.Protected, error) {
	f, err := OpenSide(file)
	if err != nil {
		return nil, fmt.Errorf("the protected areas that the settings name: %w", err)
	}
	defer f.Close()
	areas, _, err := validate.ReadProtected(f, filepath.Base(file), limits)
	return areas, err
}

// isOwnFile reports whether a settings file is a plain file of whom the log belongs to, in the same folder.
func isOwnFile(file, log string) bool {
	a, err := os.Lstat(file)
	if err != nil || !a.Mode().IsRegular() {
		return false
	}
	b, err := os.Lstat(log)
	return err == nil && b.Mode().IsRegular() && sameOwner(a, b)
}

// says writes out what is stated.
func (s *stated) says() string {
	var parts []string
	for _, part := range [][2]string{{"days are ", s.DateOrder}, {"the unit is ", s.Unit},
		{"the grid is ", s.System}, {"the language is ", s.Language}, {"areas of ", s.Protected}} {
		if part[1] != "" {
			parts = append(parts, part[0]+part[1])
		}
	}
	for _, name := range spreadsheet.Suppliable() {
		if value := s.Defaults[name]; value != "" {
			words := strings.NewReplacer("place.", "", ".method", " taken by", ".basis", " known by").Replace(name)
			parts = append(parts, words+" "+value)
		}
	}
	if s.Plan != nil && len(s.Plan.Tables)+len(s.Plan.Columns) > 0 {
		parts = append(parts, "a reading plan")
	}
	if len(parts) == 0 {
		return "it states nothing"
	}
	return strings.Join(parts, "; ")
}

// table adds what is stated to the options of a table; what the caller asks for wins.
func (s *stated) table(t spreadsheet.Options, read normalise.Options) spreadsheet.Options {
	if s == nil {
		return t
	}
	if t.Map == nil {
		t.Map = s.Plan
	}
	t.Defaults = s.Defaults
	if read.Order == edtf.OrderUnknown && s.DateOrder != "" {
		t.Order, _ = edtf.ParseOrder(s.DateOrder)
		t.Supplied = true
	}
	if t.Pivot == 0 {
		t.Pivot = s.Pivot
	}
	return t
}

// reading adds what is stated to the options of a reading.
func (s *stated) reading(o normalise.Options) normalise.Options {
	if s == nil {
		return o
	}
	if o.Order == edtf.OrderUnknown && s.DateOrder != "" {
		o.Order, _ = edtf.ParseOrder(s.DateOrder)
		o.Supplied.Order = true
	}
	if o.Unit == quantity.NoUnit && s.Unit != "" {
		o.Unit, _ = quantity.ParseUnit(s.Unit)
		o.Supplied.Unit = true
	}
	if o.System == "" && s.System != "" {
		o.System, o.Supplied.System = s.System, true
	}
	if o.Pivot == 0 {
		o.Pivot = s.Pivot
	}
	o.Language = cmp.Or(o.Language, s.Language)
	return o
}

// settings adds the protected areas to the figures that rules compare with.
func (s *stated) settings(of *validate.Settings) *validate.Settings {
	if s == nil || s.protected == nil || of != nil && of.Protected != nil {
		return of
	}
	out := validate.DefaultSettings()
	if of != nil {
		out = *of
	}
	out.Protected = s.protected
	return &out
}

// NewSettings returns empty settings for a log, to be filled in.
func NewSettings(ctx context.Context, name string, o Options) (*spreadsheet.Settings, error) {
	o.ctx = ctx
	src, err := openSource(name, o)
	if err != nil {
		return nil, err
	}
	defer src.close()
	t := o.Table
	t.File, t.Limits = name, o.Limits
	sum, err := spreadsheet.HeadingsSum(src, t)
	if err != nil {
		return nil, &InputError{File: name, Code: "columns-unreadable", Msg: err.Error(), Err: err}
	}
	return &spreadsheet.Settings{Headings: sum}, nil
}
