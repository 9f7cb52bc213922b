package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"gaugewright/server/api"
	"gaugewright/server/auth"
	"gaugewright/server/config"
	"gaugewright/server/openid"
)

// signIns sets up the ways to sign in besides passwords: passkeys, if the server knows the address
// that people open in the browser, and the identity provider from the options.
func signIns(c config.Config, keeper *auth.Keeper, deps *api.Deps, out io.Writer) error {
	if c.Origin == "" {
		return nil
	}
	if err := keeper.UsePasskeys(c.Origin, c.PasskeyDomain); err != nil {
		if c.PasskeyDomain != "" {
			return fmt.Errorf("--passkey-domain: %w", err)
		}
		if _, err := fmt.Fprintf(out, "no passkeys: %v\n", err); err != nil { // the address is an IP address
			return err
		}
	}
	if c.OpenIDIssuer == "" {
		return nil
	}
	secret := ""
	if c.OpenIDSecretFile != "" {
		b, err := os.ReadFile(c.OpenIDSecretFile)
		if err != nil {
			return fmt.Errorf("--openid-secret-file: %w", err)
		}
		if secret = strings.TrimSpace(string(b)); secret == "" {
			return fmt.Errorf("--openid-secret-file: %s is empty", c.OpenIDSecretFile)
		}
	}
	p, err := openid.New(openid.Config{
		Issuer: c.OpenIDIssuer, Client: c.OpenIDClient, Secret: secret, Claim: c.OpenIDClaim,
		Back: c.Origin + api.OpenIDBack, Now: time.Now,
	})
	deps.OpenID, deps.OpenIDSecond = p, c.OpenIDSecond
	return err
}
