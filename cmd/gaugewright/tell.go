package main

import (
	"context"
	"log/slog"
	"time"

	"gaugewright/server/api"
	"gaugewright/server/auth"
	"gaugewright/server/config"
	"gaugewright/server/hooks"
	"gaugewright/server/mail"
	"gaugewright/server/office"
	"gaugewright/sync/store"
)

// tellOthers runs what notifies other systems and people of events. A hub notifies nobody: its
// office does.
func tellOthers(
	ctx context.Context, o *operated, s *store.Store, c config.Config, k *auth.Keeper, deps *api.Deps,
) {
	deps.Office = office.New(s, k, time.Now)
	deps.Hooks = hooks.New(s, deps.Office, time.Now, c.HooksAllow, slog.Default())
	deps.Mail = mail.New(s, deps.Office, k, time.Now, mail.Server{
		Address: c.MailServer, From: c.MailFrom, User: c.MailUser, Password: c.MailPassword,
		TLS: c.MailTLS == "tls", Plain: c.MailTLS == "none", Hour: int(c.MailAt.Hours()),
	}, c.Origin, slog.Default())
	if c.Upstream != "" {
		return
	}
	o.running.Go(func() { deps.Hooks.Run(ctx) })
	o.running.Go(func() { deps.Mail.Run(ctx) })
}
