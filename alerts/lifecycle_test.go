package alerts

import (
	"errors"
	"strings"
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
	refused  string
}

func (l *life) dry() { l.troubles = []trouble{water(0, 0.2)}; l.last(10*time.Minute, l.troubles...) }
func (l *life) wet() { l.troubles = nil; l.last(3 * time.Hour) }

// holds is dry for as long, under whatever else there is.
func (l *life) holds() {
	l.troubles = append(l.troubles, water(0, 0.2))
	l.last(10*time.Minute, l.troubles...)
}
func (l *life) blind() {
	l.lastBy(10*time.Minute, 20*time.Hour, append(l.troubles, stale(0), water(0, 0.5))...)
}
func (l *life) age()      { l.lastBy(time.Hour, 25*time.Hour, l.troubles...) }
func (l *life) ack()      { l.add(l.e.Acknowledge(l.now, l.occurrence(), "the grower")) }
func (l *life) shelve()   { l.add(l.e.Shelve(l.now, "bag/a1", l.now.Add(21*time.Hour))) }
func (l *life) unshelve() { l.add(l.e.Unshelve(l.now, "bag/a1")) }
func (l *life) expire()   { l.last(21*time.Hour+time.Minute, l.troubles...) }
func (l *life) cause() {
	l.troubles = append(l.troubles, channelIsDry(0))
	l.last(10*time.Minute, l.troubles...)
}

// causeGone takes away the cause, if there is one, and waits for as long as
// the effects of one linger.
func (l *life) causeGone() {
	if n := len(l.troubles); n > 1 {
		l.troubles = l.troubles[:n-1]
	}
	l.lastBy(10*time.Minute, 14*time.Hour, l.troubles...)
}

// flutter ends as it begins, dry; it is wet twice for an hour between.
func (l *life) flutter() {
	above := l.troubles[min(1, len(l.troubles)):]
	for range 3 {
		l.last(10*time.Minute, append(above, water(0, 0.2))...)
		l.last(40*time.Minute, above...)
	}
	l.last(10*time.Minute, append(above, water(0, 0.2))...)
}
func (l *life) serve(overrides map[model.Condition]Override) {
	state, err := l.e.MarshalState()
	require.NoError(l.t, err)
	l.e, err = New(Options{Site: kestrel(), Overrides: overrides})
	require.NoError(l.t, err)
	require.NoError(l.t, l.e.RestoreState(state))
	l.last(time.Minute, l.troubles...)
}
func (l *life) retire() { l.serve(map[model.Condition]Override{BagDry: {OutOfService: true}}) }
func (l *life) employ() { l.serve(nil) }
func (l *life) remove() {
	l.e.site.Bags = l.e.site.Bags[1:]
	l.all = append(l.all, l.e.Step(l.now.Add(time.Minute), model.Snapshot{})...)
}

func (l *life) add(changes []model.Transition, err error) {
	switch {
	case errors.Is(err, ErrNoSuchAlert):
		l.refused = "refused"
		return
	case errors.Is(err, ErrNotShelved):
		l.refused = "not aside"
		return
	}
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
func (l *life) told(mark int) string {
	if l.refused != "" {
		return l.refused
	}
	var own []string
	for _, t := range l.all[mark:] {
		if t.Condition != BagDry {
			continue
		}
		word := string(t.Kind)
		if t.Suppressed {
			word = "~" + word
		}
		own = append(own, word)
	}
	return strings.Join(own, " ")
}

// The whole table: from every status, what every event makes of it. A cell is
// the status that follows and what is told of it; "~" is only recorded. An
// event that makes no sense in a status is refused.
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
	events := map[string]does{
		"holds": (*life).holds, "clears": (*life).wet, "bad input": (*life).blind, "a day passes": (*life).age,
		"acknowledge": (*life).ack, "shelve": (*life).shelve, "unshelve": (*life).unshelve, "shelving ends": (*life).expire,
		"cause comes": (*life).cause, "cause goes": (*life).causeGone, "comes and goes": (*life).flutter,
		"out of service": (*life).retire, "in service": (*life).employ, "bag is gone": (*life).remove,
	}
	type cell struct {
		to   Status
		told string
	}
	table := map[Status]map[string]cell{
		Normal: {
			"holds": {Unacknowledged, "raised"}, "clears": {Normal, ""}, "bad input": {Normal, ""}, "a day passes": {Normal, ""},
			"acknowledge": {Normal, "refused"}, "shelve": {Normal, ""}, "unshelve": {Normal, "not aside"}, "shelving ends": {Normal, ""},
			"cause comes": {Normal, ""}, "cause goes": {Normal, ""}, "comes and goes": {Unacknowledged, "raised cleared raised cleared raised"},
			"out of service": {OutOfService, ""}, "in service": {Normal, ""}, "bag is gone": {Normal, ""},
		},
		Unacknowledged: {
			"holds": {Unacknowledged, ""}, "clears": {ReturnedUnacknowledged, "cleared"}, "bad input": {Unacknowledged, ""}, "a day passes": {Unacknowledged, ""},
			"acknowledge": {Acknowledged, "acknowledged"}, "shelve": {Shelved, "~shelved"}, "unshelve": {Unacknowledged, "not aside"}, "shelving ends": {Unacknowledged, ""},
			"cause comes": {Suppressed, "~suppressed"}, "cause goes": {Unacknowledged, ""}, "comes and goes": {Unacknowledged, "cleared raised cleared raised"},
			"out of service": {OutOfService, "cleared"}, "in service": {Unacknowledged, ""}, "bag is gone": {Normal, "cleared"},
		},
		Acknowledged: {
			"holds": {Acknowledged, ""}, "clears": {Normal, "cleared"}, "bad input": {Acknowledged, ""}, "a day passes": {Acknowledged, ""},
			"acknowledge": {Acknowledged, ""}, "shelve": {Shelved, "~shelved"}, "unshelve": {Acknowledged, "not aside"}, "shelving ends": {Acknowledged, ""},
			"cause comes": {Suppressed, "~suppressed"}, "cause goes": {Acknowledged, ""}, "comes and goes": {Unacknowledged, "cleared raised cleared raised"},
			"out of service": {OutOfService, "cleared"}, "in service": {Acknowledged, ""}, "bag is gone": {Normal, "cleared"},
		},
		ReturnedUnacknowledged: {
			"holds": {Unacknowledged, "raised"}, "clears": {ReturnedUnacknowledged, ""}, "bad input": {ReturnedUnacknowledged, ""}, "a day passes": {Normal, ""},
			"acknowledge": {Normal, "acknowledged"}, "shelve": {ReturnedUnacknowledged, ""}, "unshelve": {ReturnedUnacknowledged, "not aside"}, "shelving ends": {ReturnedUnacknowledged, ""},
			"cause comes": {ReturnedUnacknowledged, ""}, "cause goes": {ReturnedUnacknowledged, ""}, "comes and goes": {Unacknowledged, "raised cleared raised"},
			"out of service": {OutOfService, ""}, "in service": {ReturnedUnacknowledged, ""}, "bag is gone": {Normal, ""},
		},
		Shelved: {
			"holds": {Shelved, ""}, "clears": {ReturnedUnacknowledged, "~cleared"}, "bad input": {Shelved, ""}, "a day passes": {Unacknowledged, "unshelved"},
			"acknowledge": {Shelved, "~acknowledged"}, "shelve": {Shelved, "~shelved"}, "unshelve": {Unacknowledged, "unshelved"}, "shelving ends": {Unacknowledged, "unshelved"},
			"cause comes": {Shelved, "~suppressed"}, "cause goes": {Shelved, ""}, "comes and goes": {Shelved, "~cleared ~raised ~cleared ~raised"},
			"out of service": {OutOfService, "~cleared"}, "in service": {Shelved, ""}, "bag is gone": {Normal, "~cleared"},
		},
		Suppressed: {
			"holds": {Suppressed, ""}, "clears": {ReturnedUnacknowledged, "~cleared"}, "bad input": {Suppressed, ""}, "a day passes": {Suppressed, ""},
			"acknowledge": {Suppressed, "~acknowledged"}, "shelve": {Shelved, "~shelved"}, "unshelve": {Suppressed, "not aside"}, "shelving ends": {Suppressed, ""},
			"cause comes": {Suppressed, ""}, "cause goes": {Unacknowledged, ""}, "comes and goes": {Suppressed, "~cleared ~raised ~cleared ~raised"},
			"out of service": {OutOfService, "~cleared"}, "in service": {Suppressed, ""}, "bag is gone": {Normal, "~cleared"},
		},
		OutOfService: {
			"holds": {OutOfService, ""}, "clears": {OutOfService, ""}, "bad input": {OutOfService, ""}, "a day passes": {OutOfService, ""},
			"acknowledge": {OutOfService, "refused"}, "shelve": {OutOfService, ""}, "unshelve": {OutOfService, "not aside"}, "shelving ends": {OutOfService, ""},
			"cause comes": {OutOfService, ""}, "cause goes": {OutOfService, ""}, "comes and goes": {OutOfService, ""},
			"out of service": {OutOfService, ""}, "in service": {Unacknowledged, "raised"}, "bag is gone": {OutOfService, ""},
		},
	}
	for status := range from {
		for event := range events {
			t.Run(string(status)+", "+event, func(t *testing.T) {
				want, decided := table[status][event]
				require.True(t, decided, "the table says nothing of it")
				l := &life{run: newRun(t, nil)}
				for _, step := range from[status] {
					step(l)
				}
				require.Equal(t, status, l.e.Status(BagDry, "bag/a1"))
				mark := len(l.all)
				events[event](l)
				assert.Equal(t, want.to, l.e.Status(BagDry, "bag/a1"))
				assert.Equal(t, want.told, l.told(mark))
			})
		}
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
	assert.ErrorIs(t, err, ErrNotShelved)
	_, err = r.e.Unshelve(r.now, "bag/z9")
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
