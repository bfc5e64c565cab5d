package estimate

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// The scalar filter worked by hand: prior variance 4, measurement variance 1,
// gain 4/5, posterior 4/5 [D].
func TestUpdateOfOneVariable(t *testing.T) {
	p := matrix{}
	p[iStorage][iStorage] = 4
	gain, out := p.update(vector{iStorage: 1}, 5, 1)
	assert.InDelta(t, 0.8, gain[iStorage], 1e-12)
	assert.InDelta(t, 0.8, out[iStorage][iStorage], 1e-12)
}

// Two variables that share a measurement, by hand: P = diag(4, 1), h = (1, 1),
// r = 1: s = 6, gain (2/3, 1/6), P⁺ = P − K·hᵀ·P = [[4/3, −2/3], [−2/3, 5/6]] [D].
func TestUpdateSharesASum(t *testing.T) {
	p := matrix{}
	p[iStorage][iStorage], p[iOffset][iOffset] = 4, 1
	h := vector{iStorage: 1, iOffset: 1}
	assert.InDelta(t, 5, p.quadratic(h), 1e-12)
	gain, out := p.update(h, 6, 1)
	assert.InDelta(t, 2.0/3, gain[iStorage], 1e-12)
	assert.InDelta(t, 1.0/6, gain[iOffset], 1e-12)
	assert.InDelta(t, 4.0/3, out[iStorage][iStorage], 1e-12)
	assert.InDelta(t, -2.0/3, out[iStorage][iOffset], 1e-12)
	assert.InDelta(t, 5.0/6, out[iOffset][iOffset], 1e-12)
}

// A step worked by hand: x₀ becomes x₀ − 2·x₁ and x₁ half of itself. From
// P = [[3, 1], [1, 4]]: var x₀ = 3 − 4·1 + 4·4 = 15, cov = ½·(1 − 2·4) = −3.5,
// var x₁ = ¼·4 + 0.1 of its own noise = 1.1 [D].
func TestPropagate(t *testing.T) {
	p := matrix{{3, 1}, {1, 4}}
	out := p.propagate(transition{first: vector{1, -2}, keep: vector{0, 0.5}}, vector{0, 0.1})
	assert.InDelta(t, 15, out[0][0], 1e-12)
	assert.InDelta(t, -3.5, out[0][1], 1e-12)
	assert.InDelta(t, -3.5, out[1][0], 1e-12)
	assert.InDelta(t, 1.1, out[1][1], 1e-12)
}

// A state taken from a measurement, by hand: y = x₀/2 + x₁ + e with var x₁ = 4
// and var e = 1 makes x₀ = 2·(y − x₁ − e), of variance 4·(4 + 1) = 20 and
// covariance −2·4 = −8 with x₁ [D].
func TestSet(t *testing.T) {
	p := matrix{{9, 3}, {3, 4}}
	out := p.set(vector{0.5, 1}, 2, 1)
	assert.InDelta(t, 20, out[0][0], 1e-12)
	assert.InDelta(t, -8, out[0][1], 1e-12)
	assert.InDelta(t, 4, out[1][1], 1e-12)
}

// randomCovariance is A·Aᵀ and something on the diagonal.
func randomCovariance(t *rapid.T) (p matrix) {
	var a matrix
	for i := range states {
		for j := range states {
			a[i][j] = rapid.Float64Range(-10, 10).Draw(t, "a")
		}
	}
	for i := range states {
		for j := range states {
			p[i][j] = vector(a[i]).dot(a[j])
		}
		p[i][i] += 1e-3
	}
	return p
}

// Both filters' steps keep a covariance a covariance.
func TestPropagateStaysSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := transition{}
		for i := range states {
			f.first[i] = rapid.Float64Range(-5, 5).Draw(t, "first")
			f.keep[i] = rapid.Float64Range(0, 1).Draw(t, "keep")
		}
		assert.True(t, randomCovariance(t).propagate(f, vector{1e-6, 1e-6, 1e-6, 1e-6, 1e-6}).sound())
	})
}

func TestSound(t *testing.T) {
	good := matrix{}
	for i := range states {
		good[i][i] = 1
	}
	tests := map[string]struct {
		spoil func(p *matrix)
		want  bool
	}{
		"good":               {func(*matrix) {}, true},
		"negative variance":  {func(p *matrix) { p[2][2] = -1e-9 }, false},
		"no number":          {func(p *matrix) { p[1][0] = math.NaN() }, false},
		"infinite":           {func(p *matrix) { p[3][3] = math.Inf(1) }, false},
		"correlation over 1": {func(p *matrix) { p[1][0], p[0][1] = 1.1, 1.1 }, false},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			p := good
			test.spoil(&p)
			assert.Equal(t, test.want, p.sound())
		})
	}
}

// Joseph's form keeps a covariance a covariance whatever is fused, and no
// variance grows by a measurement.
func TestUpdateStaysSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomCovariance(t)
		h := vector{iStorage: rapid.Float64Range(-5, 5).Draw(t, "h"), iOffset: 1}
		r := rapid.Float64Range(1e-6, 10).Draw(t, "r")
		_, out := p.update(h, p.quadratic(h)+r, r)
		assert.True(t, out.sound())
		for i := range states {
			assert.LessOrEqual(t, out[i][i], p[i][i]*(1+1e-9))
		}
	})
}

// The volume's update is the scalar filter too: prior 4, noise 1 [D].
func TestFuseLevel(t *testing.T) {
	var x vector
	var p matrix
	x[jVolume], x[jUnexplained] = 10, 1
	p[jVolume][jVolume], p[jUnexplained][jUnexplained] = 4, 1
	p[jVolume][jUnexplained], p[jUnexplained][jVolume] = -1, -1
	g := gauged{volume: 12, variance: 1, row: vector{jVolume: 1}}
	x, p, by := g.fuse(x, p)
	assert.InDelta(t, 0.8*2, by, 1e-12)
	assert.InDelta(t, 10+0.8*2, x[jVolume], 1e-12)
	assert.InDelta(t, 1-0.2*2, x[jUnexplained], 1e-12)
	assert.InDelta(t, 0.8, p[jVolume][jVolume], 1e-12)
	assert.InDelta(t, 1-0.2, p[jUnexplained][jUnexplained], 1e-12)
}
