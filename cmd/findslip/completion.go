package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/validate"
)

// complete tells the shell what may stand after the flags of all commands and after explain.
func complete(root *cobra.Command) {
	values := map[string][]string{
		"from": words(pipeline.Formats()), "to": words(pipeline.Formats()), "level": words(validate.Levels()),
		"for": words(share.Audiences()), "earlier": {pipeline.GoOn, pipeline.TellAgain, pipeline.Withhold},
		"report": {"text", "json", "html", "csv", "sarif"}, "date-order": {"dmy", "mdy", "ymd"}, "serial": {"1900", "1904"},
		"unit":    {"mm", "cm", "m", "in", "ft", "yd", "mg", "g", "kg", "gr", "oz", "ozt", "dwt", "lb"},
		"fail-on": {"error", "error,caution", "warning", "info", "caution", "never"},
	}
	for _, c := range root.Commands() {
		for name, list := range values {
			if c.Flags().Lookup(name) != nil && !(name == "to" && c.Flags().Lookup("for") != nil) {
				// fails only if there is one already
				_ = c.RegisterFlagCompletionFunc(name, cobra.FixedCompletions(list, cobra.ShellCompDirectiveNoFileComp))
			}
		}
		if c.Name() == "explain" {
			c.ValidArgsFunction = func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
				var codes []string
				for _, k := range pipeline.Kinds() {
					codes = append(codes, k.Code+"\t"+k.Title)
				}
				return codes, cobra.ShellCompDirectiveNoFileComp
			}
		}
	}
}

// words returns the values as they are typed.
func words[T any](list []T) []string {
	var out []string
	for _, v := range list {
		out = append(out, fmt.Sprint(v))
	}
	return out
}
