// Package auth identifies users and says what they may do.
//
// auth.go keeps the accounts and reads access tokens; enter.go checks passwords, second factors and
// invitations and renews log-ins; logins.go lists and ends them. tries.go makes a caller wait after
// failures, without letting a stranger lock anyone out. password.go hashes passwords and refuses
// those that are guessed first; invite.go and second.go hold invitations and second factors (RFC
// 6238). passkey.go keeps passkeys and ceremony.go logs in with them (Web Authentication);
// outside.go admits users whom an OpenID Connect provider vouches for. rights.go says what each
// role may write.
//
// Everything is kept in the private part of the store. No hash, secret or token leaves the package,
// except to its owner, once. In a store restored from a backup the keeper makes a new key and ends
// all log-ins.
package auth
