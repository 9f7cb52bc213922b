// Package secure makes TLS certificates for a plant that has none: with a private authority of its
// own, or from a public one by ACME. It also serves the page that helps phones trust the authority.
package secure

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

const (
	rootLife   = 10 * 365 * 24 * time.Hour
	serverLife = 397 * 24 * time.Hour // phones accept at most 825 days from a private authority; this is well inside
	renewAt    = 30 * 24 * time.Hour
	early      = time.Hour // phones' clocks may be wrong
)

// Authority is a private certificate authority kept in a folder.
type Authority struct {
	dir  string
	key  *ecdsa.PrivateKey
	cert *x509.Certificate
	now  func() time.Time
}

// OpenAuthority reads the authority in a folder, or makes one. The key never leaves the folder.
func OpenAuthority(dir string, now func() time.Time) (*Authority, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the folder of the authority: %w", err)
	}
	a := &Authority{dir: dir, now: now}
	cert, key, err := read(filepath.Join(dir, "root"))
	switch {
	case err == nil && now().Before(cert.NotAfter):
		a.cert, a.key = cert, key
		return a, nil
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("the authority in %s cannot be read; restore it from a backup, or move the folder away and trust a new one on every phone: %w", dir, err)
	}
	if a.key, err = ecdsa.GenerateKey(elliptic.P256(), rand.Reader); err != nil {
		return nil, err
	}
	serial, err := number()
	if err != nil {
		return nil, err
	}
	template := &x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: "gaugewright root " + now().UTC().Format("2006-01-02")},
		NotBefore: now().Add(-early), NotAfter: now().Add(rootLife),
		KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageCRLSign, BasicConstraintsValid: true, IsCA: true, MaxPathLenZero: true,
	}
	if a.cert, err = sign(template, template, a.key, a.key, filepath.Join(dir, "root")); err != nil {
		return nil, err
	}
	return a, nil
}

func number() (*big.Int, error) { return rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120)) }

// sign makes a certificate, stores it with its key, and reads it back.
func sign(
	template, parent *x509.Certificate, key, parentKey *ecdsa.PrivateKey, path string,
) (*x509.Certificate, error) {
	der, err := x509.CreateCertificate(rand.Reader, template, parent, &key.PublicKey, parentKey)
	if err != nil {
		return nil, err
	}
	private, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	for _, f := range []struct {
		ending, kind string
		bytes        []byte
	}{{".key", "PRIVATE KEY", private}, {".crt", "CERTIFICATE", der}} {
		b := pem.EncodeToMemory(&pem.Block{Type: f.kind, Bytes: f.bytes})
		if err := keep(path+f.ending, b); err != nil {
			return nil, err
		}
	}
	return x509.ParseCertificate(der)
}

// keep writes a file whole or not at all.
func keep(path string, b []byte) error {
	f, err := os.OpenFile(path+".new", os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(b)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(path+".new", path)
}

func read(path string) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	pair, err := tls.LoadX509KeyPair(path+".crt", path+".key")
	if err != nil {
		return nil, nil, err
	}
	key, ok := pair.PrivateKey.(*ecdsa.PrivateKey)
	if !ok {
		return nil, nil, errors.New("the key is not an ECDSA key")
	}
	cert, err := x509.ParseCertificate(pair.Certificate[0])
	return cert, key, err
}

// Root returns the root certificate in PEM, for phones to install.
func (a *Authority) Root() []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: a.cert.Raw})
}

// Fingerprint returns the SHA-256 of the root, for comparing by eye on phone and server.
func (a *Authority) Fingerprint() string {
	sum := sha256.Sum256(a.cert.Raw)
	s := strings.ToUpper(hex.EncodeToString(sum[:]))
	var groups []string
	for i := 0; i < len(s); i += 4 {
		groups = append(groups, s[i:i+4])
	}
	return strings.Join(groups, " ")
}

// Server returns a certificate for the given host names and addresses: the stored one if it covers
// them all and has 30 days left, else a new one.
func (a *Authority) Server(names []string) (tls.Certificate, error) {
	if len(names) == 0 {
		return tls.Certificate{}, errors.New("a server certificate needs at least one name or address")
	}
	path := filepath.Join(a.dir, "server")
	if cert, _, err := read(path); err == nil && a.now().Add(renewAt).Before(cert.NotAfter) && cert.CheckSignatureFrom(a.cert) == nil && covers(cert, names) {
		return tls.LoadX509KeyPair(path+".crt", path+".key")
	} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return tls.Certificate{}, fmt.Errorf("the kept server certificate cannot be read: %w", err)
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return tls.Certificate{}, err
	}
	serial, err := number()
	if err != nil {
		return tls.Certificate{}, err
	}
	template := &x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: names[0]}, NotBefore: a.now().Add(-early), NotAfter: a.now().Add(serverLife),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true,
	}
	for _, n := range names {
		if ip := net.ParseIP(n); ip != nil {
			template.IPAddresses = append(template.IPAddresses, ip)
		} else {
			template.DNSNames = append(template.DNSNames, n)
		}
	}
	if _, err := sign(template, a.cert, key, a.key, path); err != nil {
		return tls.Certificate{}, err
	}
	return tls.LoadX509KeyPair(path+".crt", path+".key")
}

func covers(cert *x509.Certificate, names []string) bool {
	return !slices.ContainsFunc(names, func(n string) bool { return cert.VerifyHostname(n) != nil })
}

// Names returns the names of this machine on its network: host name, host name in .local, and the
// addresses of its active interfaces.
func Names() ([]string, error) {
	names := []string{}
	if host, err := os.Hostname(); err == nil && host != "" && net.ParseIP(host) == nil {
		host = strings.ToLower(strings.TrimSuffix(host, "."))
		names = append(names, host)
		if !strings.Contains(host, ".") {
			names = append(names, host+".local")
		}
	}
	names = append(names, "localhost")
	addresses, err := net.InterfaceAddrs()
	if err != nil {
		return nil, fmt.Errorf("the machine's addresses: %w", err)
	}
	for _, a := range addresses {
		if n, ok := a.(*net.IPNet); ok && !n.IP.IsLinkLocalUnicast() && !n.IP.IsMulticast() {
			names = append(names, n.IP.String())
		}
	}
	return names, nil
}
