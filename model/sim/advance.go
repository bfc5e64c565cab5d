package sim

import (
	"fmt"
	"time"
)

// Advance moves one step of virtual time and returns the new time and what the
// sensors publish then, in the order of the site. The messages are the
// caller's.
func (s *Sim) Advance() (now time.Time, messages []Message) {
	from, to := s.now, s.now.Add(s.stepping)
	s.air = s.weather.step(from, to, s.faults.total(HeatWave, "", from))
	s.lift(from, to)
	for _, r := range s.reservoirs {
		r.step(outside{
			from: from, to: to, air: s.air, policy: s.policy,
			leak:   s.faults.total(Leak, r.subject, from),
			drift:  s.faults.total(PHDrift, r.subject, from),
			creep:  s.faults.total(ECDrift, r.subject, from),
			dose:   sizes(s.faults.starting(SaltDose, r.subject, from, to)),
			absent: s.faults.active(NoRefill, r.subject, from),
			wrong:  s.faults.starting(WrongRefill, r.subject, from, to),
		})
	}
	s.now = to
	return to, s.publish(to)
}

// lift steps every bag and settles with its reservoir.
func (s *Sim) lift(from, to time.Time) {
	for _, t := range s.troughs {
		t.fed = t.feeds()
	}
	for _, t := range s.troughs {
		t.settle()
	}
	for _, b := range s.bags {
		t := b.trough
		in, err := b.step(forcing{
			from: from, to: to, air: s.air, reservoir: t.ec(),
			fed:      t.fed && !s.faults.active(ChannelDry, t.subject, from),
			wick:     s.faults.wick(b.subject, from),
			demand:   s.faults.demand(b.subject, from),
			watering: sizes(s.faults.starting(WateredFromAbove, b.subject, from, to)),
		})
		t.take(in)
		if err != nil && s.err == nil {
			s.err = fmt.Errorf("simulate site: %w", err)
		}
	}
	for _, t := range s.troughs {
		t.fill(from, to)
	}
}

func sizes(faults []Fault) float64 {
	sum := 0.0
	for _, f := range faults {
		sum += f.Size
	}
	return sum
}

func (s *Sim) publish(now time.Time) []Message {
	messages := make([]Message, 0, len(s.outlets))
	for _, o := range s.outlets {
		payload := o.send(s.faults, now)
		lost := s.losses.Float64() < s.lossy
		if payload != nil && !lost {
			messages = append(messages, Message{Topic: o.topic, Payload: payload, Time: now})
		}
	}
	return messages
}

// send is the payload now; nil when every sensor on the topic is silent.
func (o *outlet) send(faults schedule, now time.Time) []byte {
	numbers := make([]string, len(o.probes))
	for i, p := range o.probes {
		number := p.number(faults, now)
		if !faults.active(ProbeSilent, p.sensor.ID, now) {
			numbers[i] = number
		}
	}
	payload, err := o.payload(numbers)
	if err != nil {
		return nil // every form was tried by outlets, with all of its sensors
	}
	return payload
}
