// Package auth says who somebody is and what they may do.
//
// auth.go keeps the accounts and reads access tokens; enter.go checks passwords, second factors
// and invitations and renews log-ins; logins.go lists and ends them. tries.go lets whoever failed
// wait, so that a stranger keeps nobody out. password.go hashes passwords and refuses those that
// are tried first; invite.go and second.go hold invitations and second factors (RFC 6238).
// passkey.go keeps passkeys and ceremony.go lets them log in (Web Authentication); outside.go lets
// in whom an OpenID Connect provider vouches for. rights.go says what each role may write.
//
// Everything is kept in the private part of the store. No hash, secret or token leaves the package
// but to its owner, once. The keeper of a store to which a backup was brought back makes a new key
// and ends all log-ins.
package auth
