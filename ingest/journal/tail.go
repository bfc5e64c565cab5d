package journal

import (
	"context"
	"encoding/binary"
	"errors"
	"hash/crc64"
	"io"
	"os"
	"path/filepath"
	"time"
)

// Loss says that messages which were reported as done are no longer there.
type Loss struct {
	Messages int64
	From, To time.Time // arrivals of the last one before, zero: there is none, and of the last one lost
}

func (l Loss) since() string {
	if l.From.IsZero() {
		return "the very first"
	}
	return l.From.Format(time.RFC3339)
}

// Lost is what was missing when the journal was opened.
func (j *Journal) Lost() Loss { return j.lost }

// tail remembers the newest message outside of the database. SQLite takes a
// write-ahead log up to the first frame whose checksum is wrong, and drops what
// comes after it without a word; only somebody else can know that there was
// more.
//
// It is written after each commit and flushed now and then, not each time: that
// would double what a commit costs. So it never says more than was committed,
// and what a disk loses of both at once it does not show.
type tail struct {
	file    *os.File // nil: it cannot be kept
	slot    int64
	flushed time.Time
}

const (
	// tailSlots are written in turn, so that a torn write leaves the other.
	tailSlots = 2
	// tailSpacing keeps them in sectors of their own.
	tailSpacing = 4096
	// tailFlush is how often the tail is flushed, at most.
	tailFlush = 10 * time.Second
)

// mark is what a slot holds.
type mark struct {
	Seq, Arrived int64
	Told         int64 // 1: that the messages up to it are lost was said before
}

var markSize = int64(binary.Size(mark{}))

func (m mark) sum() uint64 {
	b, _ := binary.Append(nil, binary.BigEndian, m)
	return crc64.Checksum(b, crc64.MakeTable(crc64.ECMA))
}

func openTail(dir string) (*tail, mark, error) {
	f, err := os.OpenFile(filepath.Join(dir, "journal.tail"), os.O_RDWR|os.O_CREATE, 0o640)
	if err != nil {
		return &tail{}, mark{}, err
	}
	t := &tail{file: f}
	var newest mark
	for slot := range int64(tailSlots) {
		in := io.NewSectionReader(f, slot*tailSpacing, markSize+8)
		var m mark
		var sum uint64
		if binary.Read(in, binary.BigEndian, &m) != nil || binary.Read(in, binary.BigEndian, &sum) != nil || sum != m.sum() {
			continue
		}
		if m.Seq > newest.Seq || m.Seq == newest.Seq && m.Told > newest.Told {
			newest, t.slot = m, slot
		}
	}
	return t, newest, nil
}

// set remembers the newest message. A tail that cannot be written says less,
// which is no reason to stop: the commit is what counts.
func (t *tail) set(m mark) {
	if t.file == nil {
		return
	}
	t.slot = (t.slot + 1) % tailSlots
	b, _ := binary.Append(nil, binary.BigEndian, m)
	b = binary.BigEndian.AppendUint64(b, m.sum())
	if _, err := t.file.WriteAt(b, t.slot*tailSpacing); err != nil {
		return
	}
	if now := time.Now(); now.Sub(t.flushed) >= tailFlush {
		t.flushed = now
		_ = t.file.Sync()
	}
}

func (t *tail) close() error {
	if t == nil || t.file == nil {
		return nil
	}
	return errors.Join(t.file.Sync(), t.file.Close())
}

// compare looks whether the newest message is the one that was newest when the
// journal was written last, and says so if it is not. The Seqs of what was lost
// are not given again.
func (j *Journal) compare(ctx context.Context) error {
	t, m, err := openTail(j.dir)
	j.tail = t
	if err != nil {
		return err
	}
	if m.Seq < j.next {
		return nil
	}
	seq, arrived, err := j.Last(ctx)
	if err != nil {
		return err
	}
	if m.Told == 0 {
		j.lost = Loss{Messages: m.Seq - max(seq, j.next-1), From: arrived, To: instant(m.Arrived)}
		j.log.Error("messages that were acknowledged are gone: the disk lost the end of the journal's write-ahead log; replace a worn memory card, and see that the board is not cut off from power",
			"messages", j.lost.Messages, "after", j.lost.since(), "to", j.lost.To, "data", j.dir)
		m.Told = 1
		j.tail.set(m)
	}
	j.next = m.Seq + 1
	return nil
}
