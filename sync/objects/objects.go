// Package objects keeps photos and files in a bucket that speaks the S3 protocol, for any number of
// servers at once. It knows names and bytes only.
//
// An object is called by the SHA-256 of its bytes, so that writing it twice changes nothing, and no
// reader sees half of one. It must never answer for an object before the bucket did.
package objects

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"net/url"
	"path"
	"strings"
	"time"

	"github.com/minio/minio-go/v7"
	"github.com/minio/minio-go/v7/pkg/credentials"
)

const (
	// longest bounds one request: 32 MB over a line of 2 Mbit/s.
	longest = 3 * time.Minute
	// wholly bounds an object, and is sent in one request: twice the size of the largest blob.
	wholly = 64 << 20
)

// ErrAddress is wrapped by an error for what is no address of a bucket.
var ErrAddress = errors.New("the address of a bucket is s3://HOST[:PORT]/BUCKET[/PREFIX][?region=NAME][&tls=no]")

// Bucket keeps blobs in a bucket, below a prefix. Its methods may be called at the same time.
type Bucket struct {
	client *minio.Client
	name   string // of the bucket
	prefix string // "", or it ends with a slash
	shown  string
}

// Address is where a bucket is, as Parse reads it.
type Address struct {
	Host, Bucket, Prefix, Region string
	Plain                        bool // without TLS
}

// Parse reads s3://HOST[:PORT]/BUCKET[/PREFIX][?region=NAME][&tls=no].
//
// Refuses: ErrAddress. An address has no password: keys come from the environment.
func Parse(s string) (a Address, err error) {
	refuse := func(why string) (Address, error) { return Address{}, fmt.Errorf("%w: %s", ErrAddress, why) }
	u, err := url.Parse(s)
	if err != nil || u.Scheme != "s3" || u.Host == "" {
		return refuse("it does not begin with s3:// and a host")
	}
	if u.User != nil {
		return refuse("keys do not belong into it, but into AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY")
	}
	bucket, prefix, _ := strings.Cut(strings.Trim(u.Path, "/"), "/")
	if bucket == "" {
		return refuse("it names no bucket")
	}
	if clean := path.Clean("/" + prefix); prefix != "" && clean != "/"+prefix {
		return refuse("the prefix has an empty part, . or ..")
	}
	a = Address{Host: u.Host, Bucket: bucket, Prefix: prefix}
	for name, values := range u.Query() {
		switch v := values[0]; {
		case name == "region":
			a.Region = v
		case name == "tls" && (v == "yes" || v == "no"):
			a.Plain = v == "no"
		default:
			return refuse(name + " is none of region=NAME, tls=yes, tls=no")
		}
	}
	return a, nil
}

// Open opens a bucket that is there. The key is that of AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY,
// or of the shared file of credentials.
//
// Refuses: ErrAddress; a bucket that is not there or cannot be reached.
func Open(ctx context.Context, address string) (*Bucket, error) {
	a, err := Parse(address)
	if err != nil {
		return nil, err
	}
	transport, err := minio.DefaultTransport(!a.Plain)
	if err != nil {
		return nil, err
	}
	if transport.TLSClientConfig != nil {
		transport.TLSClientConfig.MinVersion = tls.VersionTLS12
	}
	client, err := minio.New(a.Host, &minio.Options{
		Creds: credentials.NewChainCredentials([]credentials.Provider{
			&credentials.EnvAWS{}, &credentials.FileAWSCredentials{},
		}),
		Secure: !a.Plain, Region: a.Region, Transport: transport,
	})
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrAddress, err)
	}
	b := &Bucket{client: client, name: a.Bucket, shown: "s3://" + a.Host + "/" + a.Bucket}
	if a.Prefix != "" {
		b.prefix, b.shown = a.Prefix+"/", b.shown+"/"+a.Prefix
	}
	ctx, cancel := context.WithTimeout(ctx, longest)
	defer cancel()
	there, err := client.BucketExists(ctx, a.Bucket)
	if err == nil && !there {
		err = errors.New("there is no such bucket")
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", b.shown, err)
	}
	return b, nil
}

// Name is what messages call the bucket.
func (b *Bucket) Name() string { return b.shown }

// Put keeps a blob. The bucket has it on stable storage when Put returns.
func (b *Bucket) Put(name string, content []byte) error {
	ctx, cancel := context.WithTimeout(context.Background(), longest)
	defer cancel()
	_, err := b.client.PutObject(ctx, b.name, b.prefix+name, bytes.NewReader(content), int64(len(content)),
		minio.PutObjectOptions{ContentType: "application/octet-stream", PartSize: wholly, SendContentMd5: true})
	return b.said("write", name, err)
}

// Get returns a blob. Refuses: fs.ErrNotExist.
func (b *Bucket) Get(name string) ([]byte, error) {
	ctx, cancel := context.WithTimeout(context.Background(), longest)
	defer cancel()
	object, err := b.client.GetObject(ctx, b.name, b.prefix+name, minio.GetObjectOptions{})
	if err != nil {
		return nil, b.said("read", name, err)
	}
	content, err := io.ReadAll(io.LimitReader(object, wholly+1))
	if err == nil && len(content) > wholly {
		err = errors.New("the object is longer than any blob")
	}
	if err = errors.Join(err, object.Close()); err != nil {
		return nil, b.said("read", name, err)
	}
	return content, nil
}

// Size returns how many bytes a blob has. Refuses: fs.ErrNotExist.
func (b *Bucket) Size(name string) (int64, error) {
	ctx, cancel := context.WithTimeout(context.Background(), longest)
	defer cancel()
	info, err := b.client.StatObject(ctx, b.name, b.prefix+name, minio.StatObjectOptions{})
	return info.Size, b.said("look at", name, err)
}

// Remove removes a blob; one that is not there is no error. A bucket that keeps versions keeps them.
func (b *Bucket) Remove(name string) error {
	ctx, cancel := context.WithTimeout(context.Background(), longest)
	defer cancel()
	err := b.said("remove", name, b.client.RemoveObject(ctx, b.name, b.prefix+name, minio.RemoveObjectOptions{}))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// Each calls f with every blob, in the order of their names.
func (b *Bucket) Each(f func(name string, size int64) error) error {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	for info := range b.client.ListObjects(ctx, b.name, minio.ListObjectsOptions{Prefix: b.prefix}) {
		if info.Err != nil {
			return b.said("list", "", info.Err)
		}
		name := strings.TrimPrefix(info.Key, b.prefix)
		if strings.HasSuffix(name, "/") {
			continue // what lies deeper is somebody else's
		}
		if err := f(name, info.Size); err != nil {
			return err
		}
	}
	return nil
}

func (b *Bucket) said(doing, name string, err error) error {
	if err == nil {
		return nil
	}
	var r minio.ErrorResponse
	if errors.As(err, &r) && r.StatusCode == http.StatusNotFound && r.Code != minio.NoSuchBucket {
		err = fs.ErrNotExist
	}
	return fmt.Errorf("%s %s/%s: %w", doing, b.shown, name, err)
}
