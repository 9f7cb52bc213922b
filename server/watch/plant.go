package watch

import (
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"

	"gaugewright/sync/store"

	"github.com/prometheus/client_golang/prometheus"
)

// plant reads a store's figures on demand.
type plant struct {
	store   *store.Store
	waiting func() (changes, blobs, refused int, err error)
	log     *slog.Logger
}

func described(name, help string) *prometheus.Desc {
	return prometheus.NewDesc("gaugewright_"+name, help, nil, nil)
}

var (
	journalEntries = described("journal_entries", "Changes in the journal.")
	heldEntries    = described("held_changes", "Changes that the office has set aside and nobody has dealt with.")
	databaseBytes  = described("database_bytes", "The size of the database's file.")
	blobCount      = described("blobs", "Photos and traces that are whole.")
	blobBytes      = described("blob_bytes", "The size of these, and of what is arriving.")
	freeBytes      = described("disk_free_bytes", "Room on the data folder's disk for this program.")
	queueChanges   = described("forward_waiting_changes", "Changes that wait for the line to the office above.")
	queueBlobs     = described("forward_waiting_blobs", "Photos and traces that wait for it.")
	queueRefused   = described("forward_refused_changes", "Changes that the office above has refused.")
)

// Describe implements prometheus.Collector.
func (p plant) Describe(to chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{journalEntries, heldEntries, databaseBytes, blobCount, blobBytes, freeBytes} {
		to <- d
	}
	if p.waiting != nil {
		to <- queueChanges
		to <- queueBlobs
		to <- queueRefused
	}
}

// Collect reads the store. A figure that cannot be read is left out and logged.
func (p plant) Collect(to chan<- prometheus.Metric) {
	gauge := func(d *prometheus.Desc, v float64, err error) {
		if err != nil {
			p.log.Error("a figure cannot be read", "figure", d.String(), "error", err)
			return
		}
		to <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v)
	}
	last, err := p.store.Last()
	gauge(journalEntries, float64(last), err)
	held, err := p.store.HeldCount()
	gauge(heldEntries, float64(held), err)
	size, err := p.store.Size()
	gauge(databaseBytes, float64(size), err)
	if p.store.BlobsHere() { // a bucket has figures of its own
		count, bytes, err := blobs(p.store.Dir())
		gauge(blobCount, float64(count), err)
		gauge(blobBytes, float64(bytes), err)
	}
	free, err := room(p.store.Dir())
	gauge(freeBytes, float64(free), err)
	if p.waiting != nil {
		changes, blobs, refused, err := p.waiting()
		gauge(queueChanges, float64(changes), err)
		gauge(queueBlobs, float64(blobs), err)
		gauge(queueRefused, float64(refused), err)
	}
}

func blobs(dir string) (count int, bytes int64, err error) {
	list, err := os.ReadDir(filepath.Join(dir, "blobs"))
	if os.IsNotExist(err) {
		return 0, 0, nil
	}
	for _, e := range list {
		info, err := e.Info()
		if os.IsNotExist(err) { // it was completed meanwhile, or erased
			continue
		}
		if err != nil {
			return 0, 0, err
		}
		if e.Type() == fs.ModeDir {
			continue
		}
		bytes += info.Size()
		if store.IsBlobName(e.Name()) {
			count++
		}
	}
	return count, bytes, err
}
