package postgres

import (
	"encoding/binary"
	"sync"
)

// memory holds values of keys as they are at one number of the plant, nil for a missing key. When
// it has grown too large, it drops the older half.
type memory struct {
	mu          sync.Mutex
	number      int64
	now, before map[string][]byte
	size, most  int // of now, in bytes
}

// place names a key of a bucket.
func place(bucket int64, key []byte) string {
	return string(append(binary.AppendVarint(nil, bucket), key...))
}

func (m *memory) get(number int64, at string) (v []byte, known bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.number != number {
		return nil, false
	}
	if v, known = m.now[at]; !known {
		if v, known = m.before[at]; known {
			m.put(at, v)
		}
	}
	return v, known
}

func (m *memory) put(at string, v []byte) {
	if m.size > m.most/2 {
		m.before, m.now, m.size = m.now, nil, 0
	}
	if m.now == nil {
		m.now = map[string][]byte{}
	}
	m.now[at] = v
	m.size += len(at) + len(v) + 64
}

// took remembers what was read at a number of the plant. A number greater than the remembered one
// means that another program wrote, so what is remembered may be wrong and goes.
func (m *memory) took(number int64, read map[string][]byte) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if number < m.number {
		return
	}
	if number > m.number {
		m.number, m.now, m.before, m.size = number, nil, nil, 0
	}
	for at, v := range read {
		m.put(at, v)
	}
}

// wrote remembers what this program wrote at a number of the plant.
func (m *memory) wrote(on int64, written map[string][]byte, dropped bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.number > on {
		return
	}
	if m.number < on || dropped {
		m.now, m.before, m.size = nil, nil, 0
	}
	m.number = on + 1
	for at, v := range written {
		delete(m.before, at)
		m.put(at, v)
	}
}
