package estimate

import (
	"math"
	"time"
)

// Level and probes tell of products alone, of the house's demand and a bag's
// own. While the house is not known, a bag's own factor stands for both: its
// variance holds what is not known of the house, and is taken back as that
// becomes known. What the bags turn out to have in common goes to the house.

// told takes back what a bag's own factor was allowed for a house that was not
// known: it is a measurement of one for the factor, as wide as brings the prior
// to what is left of it.
func (b *bag) told(house float64) {
	if house >= b.House {
		return
	}
	r := brings(sq(priorDemand)+b.House, sq(priorDemand)+house)
	b.House = house
	for _, s := range b.states() {
		row := vector{iDemand: 1}
		variance := s.P.quadratic(row) + r
		gain, p := s.P.update(row, variance, r)
		*s = b.bounded(s.take(row, -s.X[iDemand], variance, gain, p))
	}
}

// states are those that a bag's filters hold.
func (b *bag) states() []*state {
	all := []*state{&b.Base, &b.Roll, &b.Keen.State}
	if !b.Sound.Time.IsZero() {
		all = append(all, &b.Sound)
	}
	for i := range b.Knocks {
		all = append(all, &b.Knocks[i].Before)
	}
	return all
}

// centre moves what the bags of a reservoir have in common out of their own
// factors and into the house's, at midnight. The products, and with them every
// forecast, stay as they are. The house is then known by the bags at least as
// well as they know themselves.
func (r *reservoir) centre(t time.Time) {
	if !t.Equal(t.Truncate(24 * time.Hour)) {
		return
	}
	mean, n, known := 0.0, 0.0, 0.0
	for _, b := range r.bags {
		if !b.sound(t) {
			continue
		}
		mean, n = mean+b.Base.X[iDemand], n+1
		prior := sq(priorDemand) + b.House
		if p := b.Base.P[iDemand][iDemand]; p < prior {
			known += 1 / (sq(priorDemand) + 1/(1/p-1/prior))
		}
	}
	if n < leastBags {
		return
	}
	mean /= n
	for _, b := range r.bags {
		b.favour(-mean)
	}
	r.favour(mean)
	if p := r.P[jHouse][jHouse]; known > 1/p {
		r.Tally = r.Tally.learn(r.P, vector{jHouse: 1}, 0, p+1/(known-1/p))
		r.P = r.P.shrink(jHouse, 1/known)
	}
}

// sound says that a bag is known and nothing is wrong with it.
func (b *bag) sound(t time.Time) bool { return b.established(t) && !b.failing() && b.Cause == "" }

// usualWicks is the mean logarithm of the wick health of sound bags.
func (r *reservoir) usualWicks(t time.Time) float64 {
	sum, n := 0.0, 0.0
	for _, b := range r.bags {
		if b.sound(t) {
			sum, n = sum+b.Base.X[iHealth], n+1
		}
	}
	if n < leastBags {
		return 0
	}
	return sum / n
}

// leastBags is how many bags have something in common.
const leastBags = 3

// favour adds to the logarithm of the demand factor, wherever a bag keeps it.
func (b *bag) favour(more float64) {
	for _, s := range b.states() {
		s.X[iDemand] += more
	}
	for i := range b.Rivals {
		b.Rivals[i].LnDemand += more
	}
	for i := range b.Knocks {
		b.Knocks[i].Held.LnDemand += more
	}
	for i := range b.Dips {
		d := &b.Dips[i]
		for _, copied := range []*rival{&d.Held, &d.Stopped, &d.Lost} {
			copied.LnDemand += more
		}
	}
}

// favour adds to the logarithm of the house's factor, wherever a reservoir keeps it.
func (r *reservoir) favour(more float64) {
	stood := 0.0
	if r.Stand.Known != nil {
		stood = r.askedSince()
	}
	r.X[jHouse] += more
	for i := range r.Breaches {
		b := &r.Breaches[i]
		b.X[jHouse] += more
		b.Still[jHouse] += more
		b.Thirsty[jHouse] += more
	}
	// Since midnight its bags would have drawn less by as much as the house draws more.
	asked := func(before float64) float64 { return r.Daily.Asked + (before-r.Daily.Asked)*math.Exp(-more) }
	r.Asked = asked(r.Asked)
	for i := range r.Before {
		r.Before[i].X[jHouse] += more
		r.Before[i].Asked = asked(r.Before[i].Asked)
	}
	r.Daily.Ln += more
	for _, kept := range []*reservoir{r.Kept, r.Stand.Known} {
		if kept != nil {
			kept.favour(more)
		}
	}
	if r.Stand.Known != nil { // of a house that draws more, less was asked for
		r.Stand.Off += r.askedSince() - stood*math.Exp(-more)
	}
}

// house is what is not known of the demand of the whole house.
func (r *reservoir) house() float64 { return math.Min(sq(priorHouse), r.P[jHouse][jHouse]) }
