package main

import (
	"strings"

	"hueward/cmd/hueward/internal/cli"
	"hueward/report/guide"

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
			for _, s := range shells {
				if s == args[0] {
					return nil
				}
			}
			return cli.Usagef("no completion for %q; there is one for %s", args[0], strings.Join(shells, ", "))
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
			var names []string
			for _, t := range guide.Topics {
				names = append(names, t.Name)
			}
			return names, cobra.ShellCompDirectiveNoFileComp
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
