package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

func (p *program) rulesCommand() *cobra.Command {
	var asJSON bool
	c := described("rules", &cobra.Command{
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if asJSON {
				return p.rulesJSON()
			}
			w := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
			for _, k := range pipeline.Kinds() {
				severity := k.Severity.String()
				if k.Caution {
					severity = "caution"
				}
				fmt.Fprintf(w, "%s\t%s\t%s\n", k.Code, severity, k.Title)
			}
			return w.Flush()
		},
	})
	c.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	return c
}

type ruleJSON struct {
	Code     string `json:"code"`
	Severity string `json:"severity"`
	Caution  bool   `json:"caution,omitzero"`
	Group    string `json:"group"`
	Title    string `json:"title"`
	Why      string `json:"why"`
	Help     string `json:"help"`
	Spec     string `json:"spec"`
	Source   string `json:"source"`
	Before   string `json:"before,omitzero"`
	After    string `json:"after,omitzero"`
	Off      string `json:"off,omitzero"` // why a check leaves it out unless it is asked for
}

func (p *program) rulesJSON() error {
	list := []ruleJSON{}
	for _, k := range pipeline.Kinds() {
		list = append(list, ruleJSON{k.Code, k.Severity.String(), k.Caution, k.Group, k.Title, k.Why, k.Help, k.Spec,
			k.Source, k.Before, k.After, k.Off})
	}
	b, err := json.Marshal(list, jsontext.WithIndent("  "))
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.out, "%s\n", b)
	return err
}

func (p *program) explainCommand() *cobra.Command {
	return described("explain", &cobra.Command{
		Args: needs(1, "the code of a notice, such as unit-missing, or the name of a list, such as material"),
		RunE: func(_ *cobra.Command, args []string) error {
			for _, code := range args {
				k := kindNamed(code)
				if list := vocabulary.Get(code); k == nil && list != nil {
					return p.explainList(list)
				}
				if k == nil {
					if near := kindNear(code); near != "" {
						return fmt.Errorf("no notice has the code %q; did you mean %s? findslip rules lists them all", code, near)
					}
					return fmt.Errorf("no notice has the code %q; findslip rules lists them all", code)
				}
				if err := p.explain(k); err != nil {
					return err
				}
			}
			return nil
		},
	})
}

// explainList prints the codes of a list, with what they are called and the group that they belong to.
func (p *program) explainList(list *vocabulary.Scheme) error {
	w := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
	for _, c := range list.Concepts {
		fmt.Fprintf(w, "%s\t%s\t%s\n", c.Code, c.Label("en"), c.Group)
	}
	return w.Flush()
}

// kindNear is the code nearest to one that is misspelt, empty where none is near.
func kindNear(code string) (near string) {
	least := 4 // two letters that changed places are two edits
	for _, k := range pipeline.Kinds() {
		if d := vocabulary.EditDistance(strings.ToLower(code), k.Code); d < least && d*3 < len(k.Code) {
			near, least = k.Code, d
		}
	}
	return near
}

func kindNamed(code string) *notice.Kind {
	for _, k := range pipeline.Kinds() {
		if k.Code == code {
			return k
		}
	}
	return nil
}

func (p *program) explain(k *notice.Kind) error {
	var b strings.Builder
	severity := k.Severity.String()
	if k.Caution {
		severity += ", caution (law or safety)"
	}
	fmt.Fprintf(&b, "%s: %s\n\n", k.Code, k.Title)
	for _, part := range []struct{ name, text string }{
		{"severity", severity}, {"why", k.Why}, {"what to do", k.Help}, {"before", k.Before}, {"after", k.After},
		{"source", k.Source}, {"specification", "SPEC.md section " + k.Spec},
	} {
		if part.text != "" {
			fmt.Fprintf(&b, "  %-14s %s\n", part.name+":", part.text)
		}
	}
	fmt.Fprintln(&b)
	_, err := io.WriteString(p.out, b.String())
	return err
}

// contextName is what the JSON-LD context is called among the schemas.
const contextName = "context"

func (p *program) schemaCommand() *cobra.Command {
	names := append(schema.Names(), contextName)
	return described("schema", &cobra.Command{
		ValidArgs: names,
		Args:      cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			name := "report"
			if len(args) == 1 {
				name = args[0]
			}
			text, ok := schema.Text(name)
			if name == contextName {
				text, ok = schema.Context(), true
			}
			if !ok {
				return fmt.Errorf("schema %q is not one of %s", name, strings.Join(names, ", "))
			}
			_, err := p.out.Write(text)
			return err
		},
	}, "{names}", strings.Join(names, "|"))
}
