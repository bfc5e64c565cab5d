package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// The life of one alert, bag-dry on bag/a1: how a test brings it into each
// status, and what each event then makes of it and tells. The statuses and
// their order are those of IEC 62682 (ISA-18.2), as OPC UA Part 9 describes
// them [M].
type life struct {
	*run
	troubles []trouble
}

func (l *life) dry()      { l.troubles = []trouble{water(0, 0.2)}; l.last(10*time.Minute, l.troubles...) }
func (l *life) wet()      { l.troubles = nil; l.last(45 * time.Minute) }
func (l *life) nothing()  { l.last(time.Minute, l.troubles...) }
func (l *life) age()      { l.lastBy(time.Hour, 25*time.Hour, l.troubles...) }
func (l *life) ack()      { l.add(l.e.Acknowledge(l.now, l.occurrence(), "the grower")) }
func (l *life) shelve()   { l.add(l.e.Shelve(l.now, "bag/a1", l.now.Add(2*time.Hour))) }
func (l *life) unshelve() { l.add(l.e.Unshelve(l.now, "bag/a1")) }
func (l *life) expire()   { l.last(2*time.Hour+time.Minute, l.troubles...) }
func (l *life) cause() {
	l.troubles = append(l.troubles, channelIsDry(0))
	l.last(10*time.Minute, l.troubles...)
}
func (l *life) causeGone() {
	l.troubles = l.troubles[:len(l.troubles)-1]
	l.lastBy(10*time.Minute, 14*time.Hour, l.troubles...)
}
func (l *life) retire() {
	state, err := l.e.MarshalState()
	require.NoError(l.t, err)
	l.e, err = New(Options{Site: kestrel(), Overrides: map[model.Condition]Override{BagDry: {OutOfService: true}}})
	require.NoError(l.t, err)
	require.NoError(l.t, l.e.RestoreState(state))
	l.nothing()
}

func (l *life) add(changes []model.Transition, err error) {
	require.NoError(l.t, err)
	l.all = append(l.all, changes...)
}

func (l *life) occurrence() string {
	r := l.e.records[key{BagDry, "bag/a1"}]
	if r == nil {
		return ""
	}
	return r.Occurrence
}

// told lists what was said of bag/a1 since the mark.
func (l *life) told(mark int) []string {
	var own []model.Transition
	for _, t := range l.all[mark:] {
		if t.Condition == BagDry {
			own = append(own, t)
		}
	}
	return brief(own)
}

func TestTransitions(t *testing.T) {
	type does = func(l *life)
	from := map[Status][]does{
		Normal:                 {},
		Unacknowledged:         {(*life).dry},
		Acknowledged:           {(*life).dry, (*life).ack},
		ReturnedUnacknowledged: {(*life).dry, (*life).wet},
		Shelved:                {(*life).dry, (*life).shelve},
		Suppressed:             {(*life).dry, (*life).cause},
		OutOfService:           {(*life).dry, (*life).retire},
	}
	const (
		raised, cleared, acked = "raised bag-dry bag/a1", "cleared bag-dry bag/a1", "acknowledged bag-dry bag/a1"
		quiet                  = " (quiet)"
	)
	tests := []struct {
		from  Status
		event string
		do    does
		to    Status
		told  []string
	}{
		{Normal, "holds", (*life).dry, Unacknowledged, []string{raised}},
		{Normal, "clears", (*life).wet, Normal, nil},
		{Normal, "subject is shelved", (*life).shelve, Normal, nil},
		{Normal, "cause comes", (*life).cause, Normal, nil},
		{Normal, "out of service", (*life).retire, OutOfService, nil},

		{Unacknowledged, "holds", (*life).dry, Unacknowledged, nil},
		{Unacknowledged, "acknowledge", (*life).ack, Acknowledged, []string{acked}},
		{Unacknowledged, "clears", (*life).wet, ReturnedUnacknowledged, []string{cleared}},
		{Unacknowledged, "shelve", (*life).shelve, Shelved, []string{"shelved bag-dry bag/a1" + quiet}},
		{Unacknowledged, "cause comes", (*life).cause, Suppressed, []string{"suppressed bag-dry bag/a1" + quiet}},
		{Unacknowledged, "out of service", (*life).retire, OutOfService, []string{cleared}},

		{Acknowledged, "holds", (*life).dry, Acknowledged, nil},
		{Acknowledged, "acknowledge", (*life).ack, Acknowledged, nil},
		{Acknowledged, "clears", (*life).wet, Normal, []string{cleared}},
		{Acknowledged, "shelve", (*life).shelve, Shelved, []string{"shelved bag-dry bag/a1" + quiet}},
		{Acknowledged, "cause comes", (*life).cause, Suppressed, []string{"suppressed bag-dry bag/a1" + quiet}},
		{Acknowledged, "out of service", (*life).retire, OutOfService, []string{cleared}},

		{ReturnedUnacknowledged, "holds", (*life).dry, Unacknowledged, []string{raised}},
		{ReturnedUnacknowledged, "acknowledge", (*life).ack, Normal, []string{acked}},
		{ReturnedUnacknowledged, "clears", (*life).wet, ReturnedUnacknowledged, nil},
		{ReturnedUnacknowledged, "a day passes", (*life).age, Normal, nil},
		{ReturnedUnacknowledged, "subject is shelved", (*life).shelve, ReturnedUnacknowledged, nil},
		{ReturnedUnacknowledged, "cause comes", (*life).cause, ReturnedUnacknowledged, nil},
		{ReturnedUnacknowledged, "out of service", (*life).retire, OutOfService, nil},

		{Shelved, "holds", (*life).dry, Shelved, nil},
		{Shelved, "acknowledge", (*life).ack, Shelved, []string{acked + quiet}},
		{Shelved, "clears", (*life).wet, ReturnedUnacknowledged, []string{cleared + quiet}},
		{Shelved, "unshelve", (*life).unshelve, Unacknowledged, []string{"unshelved bag-dry bag/a1"}},
		{Shelved, "time is over", (*life).expire, Unacknowledged, []string{"unshelved bag-dry bag/a1"}},
		{Shelved, "cause comes", (*life).cause, Shelved, []string{"suppressed bag-dry bag/a1" + quiet}},
		{Shelved, "out of service", (*life).retire, OutOfService, []string{cleared + quiet}},

		{Suppressed, "holds", (*life).nothing, Suppressed, nil},
		{Suppressed, "acknowledge", (*life).ack, Suppressed, []string{acked + quiet}},
		{Suppressed, "clears", (*life).wet, ReturnedUnacknowledged, []string{cleared + quiet}},
		{Suppressed, "shelve", (*life).shelve, Shelved, []string{"shelved bag-dry bag/a1" + quiet}},
		{Suppressed, "cause goes", (*life).causeGone, Unacknowledged, nil},
		{Suppressed, "out of service", (*life).retire, OutOfService, []string{cleared + quiet}},

		{OutOfService, "holds", (*life).dry, OutOfService, nil},
		{OutOfService, "clears", (*life).wet, OutOfService, nil},
		{OutOfService, "cause comes", (*life).cause, OutOfService, nil},
	}
	for _, test := range tests {
		t.Run(string(test.from)+", "+test.event, func(t *testing.T) {
			l := &life{run: newRun(t, nil)}
			for _, step := range from[test.from] {
				step(l)
			}
			require.Equal(t, test.from, l.e.Status(BagDry, "bag/a1"))
			mark := len(l.all)
			test.do(l)
			assert.Equal(t, test.to, l.e.Status(BagDry, "bag/a1"))
			if test.told == nil {
				test.told = []string{}
			}
			assert.Equal(t, test.told, l.told(mark))
		})
	}
}

func TestOccurrenceIsNamedAfterItsRaising(t *testing.T) {
	r := newRun(t, nil)
	raised := r.last(10*time.Minute, water(0, 0.2))
	cleared := r.last(time.Hour)
	again := r.last(10*time.Minute, water(0, 0.2))
	require.Len(t, raised, 1)
	require.Len(t, cleared, 1)
	require.Len(t, again, 1)
	assert.Equal(t, "bag-dry|bag/a1|2026-06-02T12:01:00Z", raised[0].Occurrence)
	assert.Equal(t, raised[0].Occurrence, cleared[0].Occurrence)
	assert.NotEqual(t, raised[0].Occurrence, again[0].Occurrence)
	assert.Equal(t, noon.Add(time.Minute), raised[0].Since, "since it began to hold, not since it was raised")
}

func TestDelays(t *testing.T) {
	off := 20 * time.Minute
	on := 10 * time.Minute
	r := newRun(t, map[model.Condition]Override{BagDry: {OnDelay: &on, OffDelay: &off}})
	for range 5 {
		assert.Empty(t, r.last(9*time.Minute, water(0, 0.2)), "raised before its on-delay")
		assert.Empty(t, r.last(time.Minute))
	}
	assert.Len(t, r.last(11*time.Minute, water(0, 0.2)), 1)
	for range 5 {
		assert.Empty(t, r.last(19*time.Minute), "cleared before its off-delay")
		assert.Empty(t, r.last(time.Minute, water(0, 0.2)))
	}
	assert.Len(t, r.last(21*time.Minute), 1)
}

func TestShelving(t *testing.T) {
	r := newRun(t, nil)
	_, err := r.e.Shelve(r.now, "bag/a1", r.now.Add(8*24*time.Hour))
	assert.ErrorIs(t, err, ErrShelveTime, "longer than a week")
	_, err = r.e.Shelve(r.now, "bag/a1", r.now)
	assert.ErrorIs(t, err, ErrShelveTime)
	_, err = r.e.Shelve(r.now, "bag/z9", r.now.Add(time.Hour))
	assert.ErrorIs(t, err, ErrNoSuchAlert)
	_, err = r.e.Unshelve(r.now, "bag/a1")
	assert.ErrorIs(t, err, ErrNoSuchAlert)
	_, err = r.e.Acknowledge(r.now, "bag-dry|bag/a1|2020-01-01T00:00:00Z", "x")
	assert.ErrorIs(t, err, ErrNoSuchAlert)

	changes, err := r.e.Shelve(r.now, "bag/a1", r.now.Add(3*time.Hour))
	require.NoError(t, err)
	assert.Empty(t, changes, "nothing stands yet")
	assert.Equal(t, []string{"raised bag-dry bag/a1 (quiet)", "raised bag-dry bag/a2"},
		brief(r.last(10*time.Minute, water(0, 0.2), water(1, 0.2))))
	assert.Equal(t, []string{"raised sensor-silent bag/a1/moisture (quiet)"},
		brief(r.last(10*time.Minute, water(0, 0.2), water(1, 0.2), silent(0))), "its probe is shelved with it")
	back := r.last(3*time.Hour, water(0, 0.2), water(1, 0.2), silent(0))
	assert.Equal(t, []string{"unshelved bag-dry bag/a1", "unshelved sensor-silent bag/a1/moisture"}, brief(back))
	assert.Contains(t, back[0].Message.Headline, "Still: Bag a1 is dry")
}

func TestSubjectsComeAndGo(t *testing.T) {
	site := kestrel()
	e, err := New(Options{Site: site})
	require.NoError(t, err)
	now := noon
	step := func(s model.Snapshot) []model.Transition {
		now = now.Add(10 * time.Minute)
		return e.Step(now, s)
	}
	require.Equal(t, []string{"raised bag-dry bag/b2"}, brief(step(with(now, water(3, 0.2)))))

	none := model.Snapshot{}
	for range 20 {
		require.Empty(t, step(none), "a snapshot without the bag holds its alert")
	}
	require.Equal(t, Unacknowledged, e.Status(BagDry, "bag/b2"))

	site.Bags = site.Bags[:3]
	assert.Equal(t, []string{"cleared bag-dry bag/b2"}, brief(step(none)), "the bag is out of the site file")
	assert.Empty(t, e.Open())

	// A bag that the snapshot has and the site file lacks is still judged.
	assert.Equal(t, []string{"raised bag-dry bag/b2"}, brief(step(with(now, water(3, 0.2)))))
}

func TestOpenListsTheMostUrgentFirst(t *testing.T) {
	r := newRun(t, nil)
	r.last(2*time.Hour, level(100), silent(1), wick(2, 0.1, ""))
	r.last(time.Hour, level(100), silent(1), wick(2, 0.1, ""), water(0, 0.2))
	var order []model.Condition
	for _, s := range r.e.Open() {
		order = append(order, s.Condition)
		assert.NotEmpty(t, s.Message.Headline)
		assert.NotEmpty(t, s.Occurrence)
	}
	assert.Equal(t, []model.Condition{BagDry, WickFailing, SensorSilent, ReservoirLow}, order)
}
