package capture

import (
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/ingest"
)

// written is a capture of messages, each so many minutes after noon.
func written(t require.TestingT, minutes []int, topics ...string) string {
	var out strings.Builder
	w := NewWriter(&out)
	for i, m := range minutes {
		require.NoError(t, w.Write(message(noon.Add(time.Duration(m)*time.Minute), topics[i%len(topics)], "52.0")))
	}
	require.NoError(t, w.Flush())
	return out.String()
}

func reader(t require.TestingT, text string) *Reader {
	r, err := NewReader("file", strings.NewReader(text))
	require.NoError(t, err)
	return r
}

func TestLook(t *testing.T) {
	jumbled := written(t, []int{0, 10, 5, 10, 9, 11}, "yard/a", "yard/b", "yard/b")
	s, all, err := Look(reader(t, jumbled), 6)
	require.NoError(t, err)
	assert.Len(t, all, 6)
	again, none, err := Look(reader(t, jumbled), 5)
	require.NoError(t, err)
	assert.Equal(t, s, again)
	assert.Empty(t, none, "more than were to be kept")
	assert.Equal(t, Survey{Messages: 6, Early: 2, FirstEarly: 3, Topics: map[string]int64{"yard/a": 2, "yard/b": 4}}, s)
	topics, n := s.Foreign([]string{"yard/a"})
	assert.Equal(t, []TopicCount{{"yard/b", 4}}, topics)
	assert.EqualValues(t, 4, n)

	whole := written(t, []int{0, 1, 2}, "yard/a")
	s, all, err = Look(reader(t, whole[:len(whole)-9]), 100)
	require.NoError(t, err, "what came before is good")
	assert.EqualValues(t, 2, s.Messages)
	assert.Len(t, all, 2)
	assert.ErrorIs(t, s.Cut, ErrTruncated)

	_, _, err = Look(reader(t, "no capture\n"+whole), 100)
	assert.ErrorContains(t, err, "file:1: ")
}

// A recorder that lost its power in the middle of a line and then went on in the
// same file spoils that line and the one joined to it, and no other.
func TestADamagedLineIsPassedOver(t *testing.T) {
	lines := strings.SplitAfter(written(t, []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21}, "yard/a"), "\n")
	lines[7] = lines[7][:20] + lines[8]
	torn := strings.Join(lines, "")
	s, all, err := Look(reader(t, torn), 100)
	require.NoError(t, err)
	assert.Len(t, all, 21)
	assert.EqualValues(t, 1, s.Damaged)
	assert.ErrorContains(t, s.Damage, "file:8: ")

	steady, n := NewSteady("file", reader(t, torn).Next), 0
	for ; err == nil; n++ {
		_, err = steady.Next()
	}
	assert.Equal(t, io.EOF, err)
	assert.Equal(t, 21, n-1, "the same, where the lines are read again")

	lines[3] = "no line\n"
	_, _, err = Look(reader(t, strings.Join(lines, "")), 100)
	assert.ErrorContains(t, err, "2 of 22 lines cannot be read, the first: file:4: ", "one in ten is no accident")
}

func TestForeignTopicsAreOrdered(t *testing.T) {
	s := Survey{Topics: map[string]int64{"c": 1, "b": 3, "a": 3, "own": 9}}
	topics, n := s.Foreign([]string{"own"})
	assert.Equal(t, []TopicCount{{"a", 3}, {"b", 3}, {"c", 1}}, topics)
	assert.EqualValues(t, 7, n)
}

// Whatever the order of the lines: all of them come, in the order of time, and
// those of one time in the order of their lines.
func TestSortKeepsEveryMessage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		minutes := rapid.SliceOfN(rapid.IntRange(0, 20), 0, 60).Draw(t, "minutes")
		_, all, err := Look(reader(t, written(t, minutes, "yard/a")), len(minutes))
		require.NoError(t, err)
		Sort(all)
		require.Len(t, all, len(minutes))
		for i := 1; i < len(all); i++ {
			a, b := all[i-1], all[i]
			switch a.Message.Arrived.Compare(b.Message.Arrived) {
			case 1:
				t.Fatalf("line %d, of a later time, comes before line %d", a.Seq, b.Seq)
			case 0:
				require.Less(t, a.Seq, b.Seq)
			}
		}
	})
}

// steadily gives the lines that a Steady lets through.
func steadily(t *testing.T, records ...ingest.Record) (lines []int64, twice int64, err error) {
	t.Helper()
	i := 0
	s := NewSteady("file", func() (ingest.Record, error) {
		if i == len(records) {
			return ingest.Record{}, io.EOF
		}
		i++
		records[i-1].Seq = int64(i)
		return records[i-1], nil
	})
	for {
		r, err := s.Next()
		if err != nil {
			return lines, s.Twice(), err
		}
		lines = append(lines, r.Seq)
	}
}

func TestSteady(t *testing.T) {
	later := noon.Add(time.Second)
	placed := message(noon, "yard/a", "1")
	placed.Message.Taken = noon.Add(-time.Hour)
	tests := map[string]struct {
		records []ingest.Record
		lines   []int64
		twice   int64
		want    string
	}{
		"all differ": {[]ingest.Record{message(noon, "yard/a", "1"), message(noon, "yard/b", "1"), message(noon, "yard/a", "2"), placed, message(later, "yard/a", "1")},
			[]int64{1, 2, 3, 4, 5}, 0, "EOF"},
		"twice, with another between": {[]ingest.Record{message(noon, "yard/a", "1"), message(noon, "yard/b", "1"), message(noon, "yard/a", "1"), message(later, "yard/a", "1")},
			[]int64{1, 2, 4}, 1, "EOF"},
		"a clock that was not set": {[]ingest.Record{message(time.Unix(5, 0), "yard/a", "1"), message(noon, "yard/a", "1")},
			[]int64{1}, 0, "file:2: the time leaps from 1970-01-01 (line 1) to 2026-06-01"},
		"a winter's pause": {[]ingest.Record{message(noon, "yard/a", "1"), message(noon.AddDate(0, 7, 0), "yard/a", "1")}, []int64{1, 2}, 0, "EOF"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			lines, twice, err := steadily(t, tt.records...)
			assert.Equal(t, tt.lines, lines)
			assert.Equal(t, tt.twice, twice)
			assert.ErrorContains(t, err, tt.want)
		})
	}
}

func TestTheLongestHole(t *testing.T) {
	said := message(noon.Add(9*time.Hour), "yard/a", "1")
	said.Gaps = []ingest.Gap{{From: noon.Add(3 * time.Hour), To: said.Message.Arrived}}
	s := NewSteady("file", nil)
	for _, r := range []ingest.Record{message(noon, "yard/a", "1"), message(noon.Add(2*time.Hour), "yard/a", "1"), message(noon.Add(3*time.Hour), "yard/a", "1"), said} {
		s.next = func() (ingest.Record, error) { return r, nil }
		_, err := s.Next()
		require.NoError(t, err)
	}
	assert.Equal(t, ingest.Gap{From: noon, To: noon.Add(2 * time.Hour)}, s.Hole())
}

func TestSteadyEndsWhereTheCaptureBreaksOff(t *testing.T) {
	whole := written(t, []int{0, 1, 2}, "yard/a")
	s := NewSteady("file", reader(t, whole[:len(whole)-9]).Next)
	for range 2 {
		_, err := s.Next()
		require.NoError(t, err)
	}
	_, err := s.Next()
	assert.Equal(t, io.EOF, err)
}

// Some editors put a byte order mark before what they save.
func TestAByteOrderMarkIsNoPartOfTheLine(t *testing.T) {
	n, errs := readAll(t, "file", []byte("\ufeff"+written(t, []int{0, 1}, "yard/a")))
	assert.Empty(t, errs)
	assert.Equal(t, 2, n)
}
