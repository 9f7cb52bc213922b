//go:build unix

package store_test

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"testing"

	"gaugewright/sync/objects"
	"gaugewright/sync/objects/objectstest"
	"gaugewright/sync/postgres"
	"gaugewright/sync/postgres/pgtest"
	"gaugewright/sync/store"
)

// server is where opened keeps the database of a folder, nil for in the folder. plants has its
// address.
var (
	server *pgtest.Server
	plants map[string]string
)

// opened opens a folder on the engine under test.
func opened(dir string) (*store.Store, error) { return openedWith(dir, store.Options{}) }

func openedWith(dir string, o store.Options) (*store.Store, error) {
	if inBucket != nil {
		o.Blobs = inBucket
	}
	if server == nil {
		return store.OpenWith(dir, o)
	}
	if plants[dir] == "" {
		plants[dir] = server.Plant()
	}
	return onPostgres(plants[dir], dir, o)
}

func onPostgres(address, dir string, o store.Options) (*store.Store, error) {
	db, err := postgres.Open(context.Background(), address, postgres.Options{Unsafe: true})
	if err != nil {
		return nil, err
	}
	return store.OpenOn(db, dir, o)
}

// brought moves what was restored into a folder to the engine under test.
func brought(dir string) error {
	if server == nil {
		return nil
	}
	s, err := store.Open(dir)
	if err != nil {
		return err
	}
	plants[dir] = server.Plant()
	db, err := postgres.Open(context.Background(), plants[dir], postgres.Options{Unsafe: true})
	if err != nil {
		return errors.Join(err, s.Close())
	}
	return errors.Join(s.MoveTo(db, func(int) {}), s.Close(), db.Close())
}

// checked checks a folder that nobody has open, on the engine under test.
func checked(dir string) (r store.Report, err error) {
	if server == nil {
		return store.Check(dir)
	}
	s, err := opened(dir)
	if err != nil {
		return r, err
	}
	r, err = s.CheckIt()
	return r, errors.Join(err, s.Close())
}

// TestOnPostgres runs the store's tests once more on PostgreSQL, and then checks every plant that
// they left.
func TestOnPostgres(t *testing.T) {
	pg := pgtest.Start(t, "fsync=off") // the machine does not crash
	for name, test := range map[string]func(*testing.T){
		"AgainstMap":                fewer(TestAgainstMap),
		"ForgedChangeIsNamed":       TestForgedChangeIsNamed,
		"LookupFollowsTheValue":     TestLookupFollowsTheValue,
		"ManyCallersAtOnce":         TestManyCallersAtOnce,
		"Blobs":                     TestBlobs,
		"QuarantineKeepsOnce":       TestQuarantineKeepsOnce,
		"HistoryOfOneChangeAndMore": TestHistoryOfOneChangeAndMore,
		"PieceEndsAtItsBytes":       TestPieceEndsAtItsBytes,
		"HeldIsClosed":              TestHeldIsClosed,
		"AnErasedPhoto":             TestAnErasedPhoto,
		"Passing":                   TestPassing,
		"HeadsAreConsistent":        TestHeadsAreConsistent,
		"PieceKeepsItsBounds":       TestPieceKeepsItsBounds,
		"JudgedInTheTransaction":    TestJudgedInTheTransaction,
		"ErasedIsKnown":             TestErasedIsKnown,
		"WhatComesBack":             TestWhatComesBackIsKnownByItsSignature,
		"BackupWhileWriting":        TestBackupWhileWriting,
		"EventsAreReadNewestFirst":  TestEventsAreReadNewestFirst,
	} {
		t.Run(name, func(t *testing.T) {
			server, plants = pg, map[string]string{}
			defer func() { server, plants = nil, nil }()
			t.Run("same", test)
			for _, dir := range slices.Sorted(maps.Keys(plants)) {
				whole(t, plants[dir], dir)
			}
		})
	}
}

// fewer lets a test of random steps try a fifth as often: each try makes a database, which takes
// seconds.
func fewer(test func(*testing.T)) func(*testing.T) {
	return func(t *testing.T) {
		checks := flag.Lookup("rapid.checks").Value
		was := checks.String()
		defer func() {
			if err := checks.Set(was); err != nil {
				t.Error(err)
			}
		}()
		all, err := strconv.Atoi(was)
		if err != nil {
			t.Fatal(err)
		}
		if err := checks.Set(strconv.Itoa(max(all/5, 1))); err != nil {
			t.Fatal(err)
		}
		test(t)
	}
}

// whole checks a store.
func whole(t *testing.T, address, dir string) store.Report {
	t.Helper()
	s, err := onPostgres(address, dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := s.CheckIt()
	if err != nil {
		t.Fatal(err)
	}
	for _, one := range r.Damage {
		t.Error(one)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return r
}

// TestMovedThereAndBack: a plant that is moved to PostgreSQL and back has the same tree, names and
// key. A target that has a plant is refused, and what an interrupted move left is replaced.
func TestMovedThereAndBack(t *testing.T) {
	pg := pgtest.Start(t)
	dir := t.TempDir()
	filled(t, dir)
	before, err := store.Check(dir)
	if err != nil || len(before.Damage) > 0 || before.Changes == 0 {
		t.Fatal(before, err)
	}
	s := open(t, dir)
	address := pg.Plant()
	db, err := postgres.Open(context.Background(), address, postgres.Options{})
	if err != nil {
		t.Fatal(err)
	}
	cut := errors.New("cut short")
	err = func() (err error) {
		defer func() { err, _ = recover().(error) }()
		return s.MoveTo(db, func(int) { panic(cut) })
	}()
	if !errors.Is(err, cut) {
		t.Fatal(err)
	}
	if _, err := store.PlantIn(db); !errors.Is(err, store.ErrUnfinished) && before.Changes > 1000 {
		t.Errorf("half a move: %v", err)
	}
	last := 0
	if there, _ := store.PlantIn(db); !there {
		err = s.MoveTo(db, func(n int) { last = n })
	}
	if err != nil && !errors.Is(err, cut) {
		t.Fatal(last, err)
	}
	if err := s.MoveTo(db, func(int) {}); !errors.Is(err, store.ErrNotEmpty) {
		t.Errorf("a plant is moved onto another one: %v", err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	if there := whole(t, address, dir); fmt.Sprint(there) != fmt.Sprint(before) {
		t.Errorf("moved: %+v, was %+v", there, before)
	}
	there, err := onPostgres(address, dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	back := t.TempDir()
	if err := there.MoveToFolder(back, func(int) {}); err != nil {
		t.Fatal(err)
	}
	if err := there.MoveToFolder(back, func(int) {}); !errors.Is(err, store.ErrNotEmpty) {
		t.Errorf("a plant is moved onto another one: %v", err)
	}
	if err := there.Close(); err != nil {
		t.Fatal(err)
	}
	after, err := store.Check(back)
	if err != nil {
		t.Fatal(err)
	}
	after.Blobs, after.Notes = before.Blobs, before.Notes // blobs stay where they are
	if fmt.Sprint(after) != fmt.Sprint(before) {
		t.Errorf("moved back: %+v, was %+v", after, before)
	}
}

// inBucket has the blobs of opened, nil for in the folder.
var inBucket store.Blobs

// keptInBucket lets the stores of a test be on PostgreSQL and keep blobs in a bucket.
func keptInBucket(t *testing.T) *objectstest.Server {
	t.Helper()
	bucketServer := objectstest.Start(t)
	bucket, err := objects.Open(context.Background(), bucketServer.Address)
	if err != nil {
		t.Fatal(err)
	}
	inBucket, server, plants = bucket, pgtest.Start(t, "fsync=off"), map[string]string{}
	t.Cleanup(func() { inBucket, server, plants = nil, nil, nil })
	return bucketServer
}

func TestBlobsInABucket(t *testing.T) {
	keptInBucket(t)
	t.Run("kept", TestBlobs)
	t.Run("erased", func(t *testing.T) {
		b := []byte("a face")
		s := open(t, t.TempDir())
		if err := s.PutBlob(nameOf(b), b); err != nil {
			t.Fatal(err)
		}
		if err := s.EraseBlob(nameOf(b), "asked for by the person"); err != nil {
			t.Fatal(err)
		}
		if _, err := s.Blob(nameOf(b)); !errors.Is(err, store.ErrErased) {
			t.Errorf("after it was erased: %v", err)
		}
		if _, err := inBucket.Size(nameOf(b)); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("it is in the bucket: %v", err)
		}
		if err := s.PutBlob(nameOf(b), b); err != nil {
			t.Errorf("a phone that brings it again must be done with it: %v", err)
		}
		if _, err := inBucket.Size(nameOf(b)); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("brought again, it is in the bucket: %v", err)
		}
	})
}

// TestPiecesIntoABucket: each piece may come to another server, the bucket may refuse the whole, and
// a server may end before it has forgotten the pieces.
func TestPiecesIntoABucket(t *testing.T) {
	bucketServer := keptInBucket(t)
	dir := t.TempDir()
	s := open(t, dir)
	b := []byte("a photo of a gauge")
	name, total := nameOf(b), int64(len(b))
	put := func(from, to int, n int64, whole bool, why error) {
		t.Helper()
		gotN, gotWhole, err := s.PutPiece(name, int64(from), total, b[from:to])
		if gotN != n || gotWhole != whole || !errors.Is(err, why) {
			t.Errorf("%d to %d: %d, %v, %v; want %d, %v, %v", from, to, gotN, gotWhole, err, n, whole, why)
		}
	}
	put(0, 5, 5, false, nil)
	put(9, 12, 5, false, store.ErrBlobPlace)
	put(0, 5, 5, false, store.ErrBlobPlace) // it came already
	bucketServer.Refuse(http.MethodPut)
	if n, whole, err := s.PutPiece(name, 5, total, b[5:]); n != total || whole || err == nil {
		t.Errorf("the bucket refuses: %d, %v, %v", n, whole, err)
	}
	bucketServer.Refuse("")
	if n, whole, err := s.Arrived(name); n != total || whole || err != nil {
		t.Errorf("all pieces are here: %d, %v, %v", n, whole, err)
	}
	put(5, 18, total, true, nil)
	if got, err := s.Blob(name); err != nil || string(got) != string(b) {
		t.Errorf("%q, %v", got, err)
	}

	lies := []byte("a photo of a house")
	if n, whole, err := s.PutPiece(nameOf([]byte("x")), 0, total, lies); n != 0 || whole || !errors.Is(err, store.ErrBlobHash) {
		t.Errorf("forged: %d, %v, %v", n, whole, err)
	}
	if n, _, err := s.Arrived(nameOf([]byte("x"))); n != 0 || err != nil {
		t.Errorf("of the forged one %d bytes stay, %v", n, err)
	}

	other := []byte("another photo")
	if _, _, err := s.PutPiece(nameOf(other), 0, int64(len(other)), other[:4]); err != nil {
		t.Fatal(err)
	}
	if err := inBucket.Put(nameOf(other), other); err != nil { // and the server ends
		t.Fatal(err)
	}
	if n, whole, err := s.PutPiece(nameOf(other), 4, int64(len(other)), other[4:]); n != int64(len(other)) || !whole || err != nil {
		t.Errorf("brought again: %d, %v, %v", n, whole, err)
	}
	if err := inBucket.Remove(nameOf(other)); err != nil {
		t.Fatal(err)
	}
	if n, _, err := s.Arrived(nameOf(other)); n != 0 || err != nil {
		t.Errorf("%d bytes of pieces stay, %v", n, err)
	}
}

func TestCheckLooksIntoTheBucket(t *testing.T) {
	keptInBucket(t)
	s := open(t, t.TempDir())
	b := []byte("a photo of a gauge")
	if err := s.PutBlob(nameOf(b), b); err != nil {
		t.Fatal(err)
	}
	if r, err := s.CheckIt(); err != nil || r.Blobs != 1 || len(r.Damage) != 0 {
		t.Errorf("%+v, %v", r, err)
	}
	if err := inBucket.Put(nameOf(b), []byte("something else")); err != nil {
		t.Fatal(err)
	}
	if r, err := s.CheckIt(); err != nil || len(r.Damage) != 1 {
		t.Errorf("altered: %+v, %v", r, err)
	}
	var archive bytes.Buffer
	if err := inBucket.Put(nameOf(b), b); err != nil {
		t.Fatal(err)
	}
	if err := s.Backup(&archive, false); err != nil {
		t.Fatal(err)
	}
	inBucket = nil
	back := t.TempDir() + "/back"
	if r, err := store.Restore(back, &archive); err != nil || r.Blobs != 1 || len(r.Damage) != 0 {
		t.Errorf("restored into a folder: %+v, %v", r, err)
	}
}
