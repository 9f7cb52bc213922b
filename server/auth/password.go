package auth

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"

	"golang.org/x/crypto/argon2"
)

// The cost of a hash: the smallest that OWASP's password storage sheet gives for argon2id (second-hand), some 70 ms on one core.
const (
	memoryKiB = 19456
	passes    = 2
	threads   = 1
	saltBytes = 16
	hashBytes = 32
)

// decoy is checked where there is no account, so that the time of an answer does not say whether a name exists.
var decoy = fmt.Sprintf("argon2id$%d$%d$%d$%s$%s", memoryKiB, passes, threads,
	base64.RawStdEncoding.EncodeToString(make([]byte, saltBytes)), base64.RawStdEncoding.EncodeToString(make([]byte, hashBytes)))

func hashPassword(password string) (string, error) {
	salt := make([]byte, saltBytes)
	if _, err := rand.Read(salt); err != nil {
		return "", err
	}
	h := argon2.IDKey([]byte(password), salt, passes, memoryKiB, threads, hashBytes)
	return fmt.Sprintf("argon2id$%d$%d$%d$%s$%s", memoryKiB, passes, threads, base64.RawStdEncoding.EncodeToString(salt), base64.RawStdEncoding.EncodeToString(h)), nil
}

// checkPassword says whether the password is right, and whether its hash was made at another cost than today's.
func checkPassword(kept, password string) (right, weak bool, err error) {
	bad := errors.New("a kept password hash is damaged")
	parts := strings.Split(kept, "$")
	if len(parts) != 6 || parts[0] != "argon2id" {
		return false, false, bad
	}
	var m, t uint32
	var p uint8
	if _, err := fmt.Sscanf(strings.Join(parts[1:4], " "), "%d %d %d", &m, &t, &p); err != nil || m == 0 || m > 1<<20 || t == 0 || t > 100 || p == 0 {
		return false, false, bad
	}
	salt, err1 := base64.RawStdEncoding.DecodeString(parts[4])
	want, err2 := base64.RawStdEncoding.DecodeString(parts[5])
	if err1 != nil || err2 != nil || len(want) == 0 {
		return false, false, bad
	}
	got := argon2.IDKey([]byte(password), salt, t, m, p, uint32(len(want)))
	return subtle.ConstantTimeCompare(got, want) == 1, m != memoryKiB || t != passes || p != threads, nil
}
