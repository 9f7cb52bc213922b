package auth

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"runtime"
	"strings"

	"github.com/trustelem/zxcvbn"
	"golang.org/x/crypto/argon2"
)

// The cost of a hash: the smallest that OWASP's password storage sheet gives for argon2id
// (second-hand); some 70 ms on one core.
const (
	memoryKiB = 19456
	passes    = 2
	threads   = 1
	saltBytes = 16
	hashBytes = 32
)

// decoy is checked if there is no account, so that the response time does not reveal which names
// exist.
var decoy = fmt.Sprintf("argon2id$%d$%d$%d$%s$%s", memoryKiB, passes, threads,
	base64.RawStdEncoding.EncodeToString(make([]byte, saltBytes)), base64.RawStdEncoding.EncodeToString(make([]byte, hashBytes)))

// hashing runs one password hash at a time, since each takes 19 MiB and a core for a while, and
// bounds how many wait.
type hashing struct{ waiting, working chan struct{} }

const (
	maxWaiting = 24 // some two seconds on one slow core
	maxWorking = 2
)

// newHashing leaves one core free for other work if there are two or more.
func newHashing() hashing {
	return hashing{
		waiting: make(chan struct{}, maxWaiting),
		working: make(chan struct{}, max(1, min(maxWorking, runtime.GOMAXPROCS(0)-1))),
	}
}

// enter waits for its turn, or returns false at once if too many wait already.
func (h hashing) enter() bool {
	select {
	case h.waiting <- struct{}{}:
	default:
		return false
	}
	h.working <- struct{}{}
	return true
}

func (h hashing) leave() {
	<-h.working
	<-h.waiting
}

// A password is refused if zxcvbn finds it in fewer guesses than this. zxcvbn knows lists of common
// passwords, names and words, neighbouring keys, sequences, repeats and dates (Wheeler, USENIX
// Security 2016; its step from "somewhat" to "safely" unguessable).
const (
	fewestGuesses = 1e8
	mostGuessedAt = 64 // bytes examined; more only strengthen a password, and cost time
)

// guessable reports whether a password is among those that are guessed first.
func guessable(password string, of ...string) bool {
	return zxcvbn.PasswordStrength(
		strings.ToValidUTF8(password[:min(len(password), mostGuessedAt)], "?"), append(of, "gaugewright"),
	).Guesses < fewestGuesses
}

// hash hashes a new password.
//
// Refuses: ErrInput for a password that is not 10 to 256 characters long or is guessed first;
// ErrBusy.
func (k *Keeper) hash(password, name string) (string, error) {
	if len(password) < 10 || len(password) > 256 {
		return "", fmt.Errorf("%w: the password needs 10 to 256 characters", ErrInput)
	}
	if guessable(password, name) {
		return "", fmt.Errorf(
			"%w: this password is easily guessed; several words that do not belong together are a good one",
			ErrInput,
		)
	}
	return k.hashed(password)
}

// hashed hashes a password without judging it.
func (k *Keeper) hashed(password string) (string, error) {
	if !k.hashing.enter() {
		return "", ErrBusy
	}
	defer k.hashing.leave()
	return hashPassword(password)
}

func hashPassword(password string) (string, error) {
	salt := make([]byte, saltBytes)
	if _, err := rand.Read(salt); err != nil {
		return "", err
	}
	h := argon2.IDKey([]byte(password), salt, passes, memoryKiB, threads, hashBytes)
	return fmt.Sprintf(
		"argon2id$%d$%d$%d$%s$%s", memoryKiB, passes, threads, base64.RawStdEncoding.EncodeToString(salt),
		base64.RawStdEncoding.EncodeToString(h),
	), nil
}

// checkPassword reports whether the password is right, and whether its hash has an outdated cost.
func checkPassword(kept, password string) (right, weak bool, err error) {
	bad := errors.New("a kept password hash is damaged")
	parts := strings.Split(kept, "$")
	if len(parts) != 6 || parts[0] != "argon2id" {
		return false, false, bad
	}
	var m, t uint32
	var p uint8
	if _, err := fmt.Sscanf(strings.Join(parts[1:4], " "), "%d %d %d", &m, &t, &p); err != nil || m == 0 || m > 1<<20 ||
		t == 0 || t > 100 || p == 0 {
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
