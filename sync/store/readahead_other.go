//go:build !linux

package store

import "go.etcd.io/bbolt"

func advise(*bbolt.DB, bool) {}
