package main

import (
	"fmt"
	"slices"
	"strings"

	"hueward/cmd/hueward/internal/cli"
	"hueward/report/guide"
	"hueward/report/words"

	"github.com/spf13/cobra"
)

var shells = []string{"bash", "zsh", "fish", "powershell"}

func (a *app) completionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "completion {bash|zsh|fish|powershell}",
		Short: "Print a script that completes commands in your shell",
		Long: `Print a script that lets your shell complete hueward's commands and flags when
you press Tab. Load it in the file that your shell reads at its start:

  bash        source <(hueward completion bash)
  zsh         source <(hueward completion zsh)
  fish        hueward completion fish | source
  powershell  hueward completion powershell | Out-String | Invoke-Expression` + cli.ExitStatuses(""),
		Example:   "  hueward completion bash",
		ValidArgs: shells,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return cli.Usagef("name one shell: %s", strings.Join(shells, ", "))
			}
			if !slices.Contains(shells, args[0]) {
				return cli.Usagef("no completion for %q; there is one for %s", args[0], strings.Join(shells, ", "))
			}
			return nil
		},
		DisableFlagsInUseLine: true,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			root := cmd.Root()
			switch args[0] {
			case "bash":
				return root.GenBashCompletionV2(a.Stdout, true)
			case "zsh":
				return root.GenZshCompletion(a.Stdout)
			case "fish":
				return root.GenFishCompletion(a.Stdout, true)
			default:
				return root.GenPowerShellCompletionWithDesc(a.Stdout)
			}
		}),
	}
}

// helpCommand is cobra's own, but for an unknown topic being wrong usage.
func (a *app) helpCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND | TOPIC]",
		Short: "Help about a command, or about a subject such as photographing",
		Long: "Print the help of a command, the same as hueward COMMAND --help, or a text on a\nsubject:\n\n" + topicList() +
			cli.ExitStatuses(""),
		Example: "  hueward help measure\n  hueward help photographing",
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return words.Each(guide.Topics, func(t guide.Topic) string { return t.Name }), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				if t, ok := guide.Named(args[0]); ok {
					a.tellTopic(t)
					return nil
				}
			}
			about, rest, err := cmd.Root().Find(args)
			if err != nil || about == nil || len(rest) > 0 {
				return cli.Usagef("no help about %q; hueward --help lists the commands, hueward help help the subjects", strings.Join(args, " "))
			}
			about.InitDefaultHelpFlag()
			return about.Help()
		}),
	}
}

// topicList lists the guide's topics, a line each.
func topicList() string {
	var b strings.Builder
	for _, t := range guide.Topics {
		fmt.Fprintf(&b, "  %-15s %s\n", t.Name, t.Title)
	}
	return strings.TrimRight(b.String(), "\n")
}

// tellTopic prints a text of the guide. Tables are told row by row, so that they fit any width.
func (a *app) tellTopic(t guide.Topic) {
	s := a.Stdout
	before := guide.Heading
	for i, b := range t.Blocks() {
		if i > 0 && (b.Kind != guide.Item || before != guide.Item) {
			fmt.Fprintln(s)
		}
		before = b.Kind
		switch b.Kind {
		case guide.Heading:
			fmt.Fprintln(s, s.Strong(b.Text))
		case guide.Paragraph:
			s.Say("", b.Text)
		case guide.Item:
			s.Say("  ", "- "+b.Text)
		case guide.Code:
			fmt.Fprintf(s, "    %s\n", strings.ReplaceAll(b.Text, "\n", "\n    "))
		case guide.Table:
			for _, row := range b.Cells {
				fmt.Fprintln(s, s.Strong(row[0]))
				s.Say("  ", "  "+strings.Join(row[1:], ": "))
			}
		}
	}
}
