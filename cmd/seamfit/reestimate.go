package main

import "github.com/spf13/cobra"

func (a *app) reestimateCommand() *cobra.Command { return &cobra.Command{Use: "reestimate"} }
