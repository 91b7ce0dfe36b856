package main

import (
	"strings"

	"github.com/spf13/cobra"
)

var shells = []string{"bash", "zsh", "fish", "powershell"}

func (a *app) completionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "completion {bash|zsh|fish|powershell}",
		Short: "Print a script that completes commands in your shell",
		Long: `Print a script that lets your shell complete hueward's commands and flags when
you press Tab. Load it in the file that your shell reads when it starts:

  bash        source <(hueward completion bash)
  zsh         source <(hueward completion zsh)
  fish        hueward completion fish | source
  powershell  hueward completion powershell | Out-String | Invoke-Expression` + exitStatuses(""),
		Example:   "  hueward completion bash",
		ValidArgs: shells,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usagef("name one shell: %s", strings.Join(shells, ", "))
			}
			for _, s := range shells {
				if s == args[0] {
					return nil
				}
			}
			return usagef("no completion for %q; there is one for %s", args[0], strings.Join(shells, ", "))
		},
		DisableFlagsInUseLine: true,
		RunE: a.do(func(cmd *cobra.Command, args []string) error {
			root := cmd.Root()
			switch args[0] {
			case "bash":
				return root.GenBashCompletionV2(a.stdout, true)
			case "zsh":
				return root.GenZshCompletion(a.stdout)
			case "fish":
				return root.GenFishCompletion(a.stdout, true)
			default:
				return root.GenPowerShellCompletionWithDesc(a.stdout)
			}
		}),
	}
}

// helpCommand is cobra's own, but for an unknown topic being wrong usage.
func (a *app) helpCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "help [COMMAND]",
		Short:   "Help about a command",
		Long:    "Print the help of a command; the same as hueward COMMAND --help." + exitStatuses(""),
		Example: "  hueward help measure",
		RunE: a.do(func(cmd *cobra.Command, args []string) error {
			about, rest, err := cmd.Root().Find(args)
			if err != nil || about == nil || len(rest) > 0 {
				return usagef("no help about %q; hueward --help lists the commands", strings.Join(args, " "))
			}
			about.InitDefaultHelpFlag()
			return about.Help()
		}),
	}
}

// completeLine offers the book's lines for a command's only argument.
func (a *app) completeLine(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	b, err := a.openBook(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	defer b.Close()
	lines, err := b.Lines(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	var names []string
	for _, l := range lines {
		names = append(names, l.Name)
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}
