package main

import "github.com/spf13/cobra"

func (a *app) bandsCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "bands",
		Short: "Keep the numbers of bands",
		Args:  cobra.NoArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.labelsCommand())
	return cmd
}
