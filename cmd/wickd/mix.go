package main

import (
	"context"
	"errors"
	"fmt"
	"math"

	"wickd/model/solution"
)

type mixCommand struct {
	TopUp   topUpCommand   `cmd:"" name:"top-up" help:"Fill the reservoir up, at its target."`
	Correct correctCommand `cmd:"" help:"Bring what is in the reservoir to its target."`
	Change  changeCommand  `cmd:"" help:"Let the reservoir out and fill it anew."`
	Recipe  recipeCommand  `cmd:"" help:"Weigh salts for two stock tanks."`
}

// mixFlags are what the three ways of mixing share.
type mixFlags struct {
	Volume      restFlag        `placeholder:"VOLUME" help:"What is in the reservoir (for change: what cannot be let out): 120L."`
	EC          ecFlag          `name:"ec" placeholder:"EC" help:"Its EC at 25 °C: 1.6mS/cm."`
	PH          numberFlag      `name:"ph" placeholder:"PH" help:"Its pH: 6.4."`
	Temperature temperatureFlag `placeholder:"TEMP" help:"Its temperature: 21°C; 20 °C when left out."`
	Phosphate   numberFlag      `placeholder:"MMOL" help:"Its phosphate in mmol/L; guessed from the EC when left out."`
	Carbon      numberFlag      `placeholder:"MMOL" help:"Its carbonate in mmol/L, right after mixing, as the plan for it says."`

	PHBefore numberFlag `name:"ph-before" placeholder:"PH" help:"Its pH before the acid or base given within the hour; with --given. What the pH made of it says how much it still takes."`
	Given    amountFlag `placeholder:"AMOUNT" help:"What of --acid or --base was given since: 3.6mL or 12g."`
	Checked  bool       `name:"probe-checked" help:"The pH probe read right in a buffer after that; with --given, where the pH has not moved."`

	Reservoir string     `placeholder:"ID" help:"Ask the running daemon for these of a reservoir instead."`
	Site      string     `type:"path" placeholder:"FILE" help:"Take the target and what the reservoir holds from a site file; with --reservoir."`
	Full      volumeFlag `placeholder:"VOLUME" help:"What the reservoir holds when full: 200L."`
	To        volumeFlag `placeholder:"VOLUME" help:"Fill to this volume; full when left out."`

	TargetEC ecFlag     `name:"target-ec" placeholder:"EC" help:"1.4mS/cm."`
	TargetPH numberFlag `name:"target-ph" placeholder:"PH" help:"5.8; without it the pH is left alone."`

	WaterEC    ecFlag         `name:"water-ec" placeholder:"EC" help:"EC of the water you add: 0.4mS/cm; that of the site file or the daemon, or 0 (rain), when left out."`
	WaterPH    numberFlag     `name:"water-ph" placeholder:"PH" help:"Its pH; 7.5 when left out."`
	Alkalinity alkalinityFlag `placeholder:"AMOUNT" help:"Its alkalinity: '150 mg/L CaCO3', 3mmol/L or 8°dH; that of the site file or the daemon, or 0 (rain), when left out."`

	Stock  []stockFlag `sep:"none" placeholder:"NAME=EC" help:"A concentrate, by the EC in mS/cm that 1 mL in a litre adds: A=0.11. Once for each; they are dosed in equal parts."`
	Stocks string      `type:"path" placeholder:"FILE" help:"The concentrates of 'wickd mix recipe --json' instead."`
	Acid   reagentFlag `placeholder:"ACID" help:"'nitric 38%', 'phosphoric 85%', 'sulfuric 35%', 'citric', or 'nitric 1mol/L'."`
	Base   reagentFlag `placeholder:"BASE" help:"'potassium hydroxide 10%' or 'potassium bicarbonate'."`
	Aired  bool        `help:"Dose for the pH of tomorrow, when carbon dioxide has left: for a reservoir with an air stone."`
	JSON   bool        `name:"json" help:"For machines."`
	daemonAddress
}

type (
	topUpCommand   struct{ mixFlags }
	correctCommand struct{ mixFlags }
	changeCommand  struct{ mixFlags }
)

// Help is shown under the flags' own help.
func (topUpCommand) Help() string {
	return `With what you measured yourself, or with what the running daemon measures:

  wickd mix top-up --volume 120L --ec 1.6mS/cm --ph 6.4 --full 200L \
      --target-ec 1.4mS/cm --target-ph 5.8 --water-ec 0.4mS/cm \
      --alkalinity 3meq/L --stock A=0.11 --stock B=0.09 --acid 'phosphoric 85%'
  wickd mix top-up --reservoir tank --site site.yaml --stocks stocks.json \
      --acid 'nitric 38%'`
}

// Help is shown under the flags' own help.
func (correctCommand) Help() string {
	return `The strength and the pH, or the pH alone:

  wickd mix correct --volume 120L --full 200L --ec 1.9mS/cm --ph 6.9 \
      --target-ec 1.4mS/cm --target-ph 5.8 --water-ec 0.4mS/cm \
      --alkalinity 3meq/L --acid 'nitric 38%'
  wickd mix correct --volume 120L --ec 1.4mS/cm --ph 5.0 --target-ph 5.8 \
      --base 'potassium hydroxide 10%'`
}

// Help is shown under the flags' own help.
func (changeCommand) Help() string {
	return `For example:

  wickd mix change --to 200L --target-ec 1.4mS/cm --target-ph 5.8 \
      --water-ec 0.4mS/cm --alkalinity 3meq/L --stock A=0.11 --stock B=0.09 \
      --acid 'phosphoric 85%'`
}

// Help is shown under the flags' own help.
func (recipeCommand) Help() string {
	return `For example:

  wickd mix recipe --target 'K 6, Ca 4, Mg 2, NH4 1, P 1, S 2' \
      --traces 'Fe 1.5, Mn 0.5, B 0.3'`
}

func (k topUpCommand) Run(ctx context.Context, c console) error {
	return k.run(ctx, c, solution.TopUp)
}

func (k correctCommand) Run(ctx context.Context, c console) error {
	return k.run(ctx, c, solution.Correct)
}

func (k changeCommand) Run(ctx context.Context, c console) error {
	return k.run(ctx, c, solution.Change)
}

func (f mixFlags) run(ctx context.Context, c console, mode solution.Mode) error {
	m, err := f.request(ctx, c, mode)
	if err != nil {
		return err
	}
	if err := m.request.Validate(); err != nil {
		return usageError{f.flagged(err)}
	}
	if m.plan, err = m.request.Plan(); err != nil {
		return fmt.Errorf("mix: %w", err)
	}
	if m.plan.Lacks() && len(m.steps()) == 0 {
		return usageError{fmt.Errorf("mix: nothing can be done with what was named. %s", m.naming())}
	}
	return c.answer(f.JSON, m.document(), m.text())
}

// flagged names the flag of a figure that cannot be, if it came by one.
func (f mixFlags) flagged(err error) error {
	var outside *solution.OutsideError
	if !errors.As(err, &outside) {
		return err
	}
	for _, flag := range []struct {
		name, figure string
		given        bool
	}{
		{"--volume", "volume", f.Volume.given}, {"--full", "capacity", f.Full.given}, {"--to", "fill", f.To.given},
		{"--ec", "EC", f.EC.given}, {"--ph", "pH", f.PH.given}, {"--temperature", "temperature", f.Temperature.given},
		{"--phosphate", "phosphate", f.Phosphate.given}, {"--carbon", "carbon", f.Carbon.given},
		{"--target-ec", "target EC", f.TargetEC.given}, {"--target-ph", "target pH", f.TargetPH.given},
		{"--water-ec", "EC of the water", f.WaterEC.given}, {"--water-ph", "pH of the water", f.WaterPH.given},
		{"--alkalinity", "alkalinity of the water", f.Alkalinity.given},
		{"--ph-before", "pH before the dose", f.PHBefore.given}, {"--given", "dose tried", f.Given.given},
	} {
		if flag.given && flag.figure == outside.Figure {
			return fmt.Errorf("mix: %s: %w", flag.name, outside)
		}
	}
	return err
}

// usualTemperature, °C, of a solution that nobody measured.
const usualTemperature = 20

// request gathers what the command line, the site file and the daemon say, in
// this order of precedence.
func (f mixFlags) request(ctx context.Context, c console, mode solution.Mode) (mixture, error) {
	r := solution.Request{
		Mode: mode, Temperature: usualTemperature, Fill: f.To.value, Phosphate: f.Phosphate.value, Carbon: f.Carbon.value, Aired: f.Aired,
		Acid: f.Acid.reagent, Base: f.Base.reagent,
	}
	if f.PHBefore.given != f.Given.given {
		return mixture{}, usageError{errors.New("mix: --ph-before and --given go together: the pH before a dose, and the dose")}
	}
	if f.Checked && !f.Given.given {
		return mixture{}, usageError{errors.New("mix: --probe-checked counts where --given and --ph-before say what a dose did")}
	}
	if unit := f.reagentUnit(); f.Given.given && unit != "" && unit != f.Given.unit {
		return mixture{}, usageError{fmt.Errorf("mix: --given %s: what was named is counted in %s", f.Given.text, unit)}
	}
	if f.Given.given {
		r.Tried = &solution.Tried{PH: f.PHBefore.value, Amount: f.Given.value, Reagent: f.given(), ProbeChecked: f.Checked}
	}
	stated, err := f.ask(ctx, &r)
	if err != nil {
		return mixture{}, err
	}
	there := r.Volume // as the daemon measures it
	built, err := f.fromSite(c, &r, &stated)
	if err != nil {
		return mixture{}, err
	}
	m := mixture{}
	if built != nil {
		m.standing = built.Standing
	}
	if mode == solution.Change {
		r.Volume = 0
		if built != nil {
			r.Volume = math.Min(there, built.Empty())
		}
	}
	m.source = f.water(&r, stated)
	for _, over := range []struct {
		q    quantity
		into *float64
	}{
		{f.Volume.quantity, &r.Volume}, {f.EC.quantity, &r.EC}, {f.PH.quantity, &r.PH}, {f.Temperature.quantity, &r.Temperature},
		{f.Full.quantity, &r.Capacity}, {f.TargetEC.quantity, &r.TargetEC}, {f.TargetPH.quantity, &r.TargetPH},
	} {
		if over.q.given {
			*over.into = over.q.value
		}
	}
	if r.Stocks, err = f.stocks(); err != nil {
		return mixture{}, err
	}
	if mode == solution.Change {
		m.letOut, m.unmeasured = math.Max(0, there-r.Volume), f.Reservoir != "" && there == 0
	}
	if r.Volume > 0 || mode == solution.Change && built != nil {
		r.Volume, r.Capacity = r.Volume+m.standing, r.Capacity+m.standing
		if r.Fill > 0 {
			r.Fill += m.standing
		}
	} else {
		m.standing = 0
	}
	err = f.complete(&r)
	m.request = r
	return m, err
}

// reagentUnit is what the acid or base that is named is counted in; empty: none
// is, or both, in two units.
func (f mixFlags) reagentUnit() string {
	acid, base := f.Acid.reagent, f.Base.reagent
	switch {
	case acid != nil && base == nil:
		return acid.Unit()
	case base != nil && acid == nil:
		return base.Unit()
	case acid != nil && acid.Unit() == base.Unit():
		return acid.Unit()
	}
	return ""
}

// given is what --given is of, as far as its unit says it; nil: it may be either.
func (f mixFlags) given() *solution.Reagent {
	acid, base := f.Acid.reagent, f.Base.reagent
	switch {
	case acid == nil || base == nil || acid.Unit() == base.Unit():
		return nil
	case acid.Unit() == f.Given.unit:
		return acid
	}
	return base
}

// complete fills in what follows from the rest, and asks for what is missing.
func (f mixFlags) complete(r *solution.Request) error {
	if r.Capacity == 0 {
		r.Capacity = max(r.Fill, r.Volume)
	}
	switch {
	case r.Mode != solution.Change && f.Volume.given && f.Volume.value == 0:
		return usageError{errors.New("mix: --volume: nothing is in the reservoir; wickd mix change fills it anew")}
	case r.Mode != solution.Change && r.Volume == 0:
		return usageError{errors.New("mix: how much is in the reservoir? Give --volume, or --reservoir to ask the daemon")}
	case r.Volume > 0 && r.EC == 0:
		return usageError{errors.New("mix: what is the EC of what is in the reservoir? Give --ec, or --reservoir to ask the daemon")}
	case r.Capacity == 0:
		return usageError{errors.New("mix: how much is to be in it? Give --full, --to, or --reservoir with --site")}
	case r.TargetEC == 0 && (r.Mode != solution.Correct || r.TargetPH == 0):
		return usageError{errors.New("mix: to which EC? Give --target-ec, or --reservoir with --site")}
	}
	return nil
}
