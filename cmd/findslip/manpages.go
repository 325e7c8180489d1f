//go:build findslip_manpages

package main

import (
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// The tag adds a command that writes the man pages, so that the program that people get does not
// carry what makes them.
func init() {
	extra = func(root *cobra.Command) *cobra.Command {
		return &cobra.Command{
			Use: "manpages FOLDER", Hidden: true, Args: cobra.ExactArgs(1), Short: "Write a man page for each command",
			RunE: func(_ *cobra.Command, args []string) error { return manPages(root, args[0]) },
		}
	}
}

// manPages writes a page for the command and each of its subcommands. The date is that of the
// format and not of the day, so that the same program gives the same bytes.
func manPages(root *cobra.Command, folder string) error {
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return fmt.Errorf("making the folder for the man pages: %w", err)
	}
	root.DisableAutoGenTag = true
	root.InitDefaultCompletionCmd()
	day := time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)
	return doc.GenManTree(root, &doc.GenManHeader{Section: "1", Source: "findslip " + version(), Manual: "Findslip",
		Date: &day}, folder)
}
