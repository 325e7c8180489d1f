package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"github.com/findslip/findslip/pkg/limit"
)

// limitValue is the flag --limit NAME=N.
type limitValue limit.Limits

// Set takes one limit.
func (l *limitValue) Set(text string) error {
	name, value, ok := strings.Cut(text, "=")
	if !ok {
		return fmt.Errorf("%.40q is not of the form name=number; findslip limits lists the names", text)
	}
	return (*limit.Limits)(l).Set(strings.TrimSpace(name), strings.TrimSpace(value))
}

// String is the default as help shows it, which is nothing.
func (l *limitValue) String() string { return "" }

// Type is what help calls the value.
func (l *limitValue) Type() string { return "name=number" }

func (p *program) limitsCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "limits",
		Short: "List how much is read of a file, and how to raise it",
		Long: `limits lists how much is read of a file at most, so that a broken file, or one that was made to do
harm, costs no more than so much memory and time. Where you trust a file, raise a limit with
--limit NAME=N, or lift it with --limit NAME=none; sizes may end in KiB, MiB or GiB.`,
		Example: "  findslip limits\n  findslip check --limit rows=2000000 --limit expanded=1GiB season.xlsx",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			w := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
			fmt.Fprintln(w, "LIMIT\tDEFAULT\tBOUNDS")
			for _, l := range limit.All() {
				fmt.Fprintf(w, "%s\t%s\t%s\n", l.Name, l.Figure(l.Default), l.Bounds)
			}
			return w.Flush()
		},
	}
}
