package cli

import (
	"log/slog"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/internal/server"
)

func (a *app) serveCommand() *cobra.Command {
	var c server.Config
	var level string
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Run the programme's server: records, sync of phones, accounts",
		Long: "Serve keeps a programme's records and answers phones and browsers until it is interrupted; requests in hand are" +
			" finished first. With --demo it shows an invented region and season, which takes some seconds to make at the first" +
			" start. A demo and a programme are never opened as one another.\n\n" +
			"Without a certificate it listens only on this machine, unless it is told that a proxy encrypts or that the network may" +
			" be trusted with passwords in clear. With --store postgres://… several servers may share one PostgreSQL database and one --dir.",
		Example: `  thwart serve --demo --dir demo
  thwart serve --fresh --dir our-programme`,
		Args: args(0, 0, "no argument; everything is set by flags"),
	}
	flags := cmd.Flags()
	flags.StringVar(&c.Addr, "addr", "127.0.0.1:8080", "host:port to listen at")
	flags.StringVar(&c.Dir, "dir", ".", "folder of the records and of the server's key")
	flags.StringVar(&c.DSN, "store", "", "the records, where not a file in --dir: a SQLite file or a PostgreSQL address")
	flags.BoolVar(&c.Demo, "demo", false, "serve the invented region and season")
	flags.Uint64Var(&c.DemoSeed, "seed", 1, "seed of the invented season")
	flags.Float64Var(&c.DemoScale, "scale", 1, "share of the invented season's shifts, above 0 to 1")
	flags.BoolVar(&c.Fresh, "fresh", false, "begin an empty programme; refused where records are already there")
	flags.StringVar(&c.Basemap, "basemap", "", "file of map tiles that the office's maps are drawn over: PMTiles, version 3")
	flags.StringVar(&c.TLSCert, "cert", "", "certificate file, PEM")
	flags.StringVar(&c.TLSKey, "cert-key", "", "the certificate's private key file, PEM")
	flags.BoolVar(&c.BehindTLS, "behind-tls", false, "a proxy in front encrypts and sets X-Forwarded-For and X-Forwarded-Proto")
	flags.BoolVar(&c.PlainHTTP, "plain-http", false, "listen on a network without encryption, knowingly")
	flags.StringVar(&level, "log", "info", "least level of the log on standard error: debug, info, warn, error")
	cmd.RunE = a.run(func(cmd *cobra.Command, _ []string) error {
		var least slog.Level
		if err := least.UnmarshalText([]byte(level)); err != nil {
			return usage("--log: %q is not a level; accepted: debug, info, warn, error", level)
		}
		if !(c.DemoScale > 0 && c.DemoScale <= 1) {
			return thwart.FieldErrors{{Field: "--scale", Value: cmd.Flag("scale").Value.String(), Accepted: "above 0 to 1"}}
		}
		c.Version, c.Out = a.version, a.Out
		c.Log = slog.New(slog.NewJSONHandler(a.Err, &slog.HandlerOptions{Level: least}))
		return server.Run(cmd.Context(), c)
	})
	return cmd
}
