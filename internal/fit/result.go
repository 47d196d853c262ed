package fit

// Result is the whole answer for one leg; its JSON is that of the command
// "seamfit fit".
type Result struct {
	Leg       Leg         `json:"leg"`
	Agreement Agreement   `json:"agreement"`
	Sizes     []Candidate `json:"sizes"`
	Best      string      `json:"best"` // "" when no size can be advised
	Warnings  []Warning   `json:"warnings"`
	// Oval is how far the leg is from round; nil where its cross width was not
	// measured.
	Oval *Oval `json:"oval,omitempty"`
	// Metal is what speaks for a metal on this species; nil: not asked.
	Metal *MetalAdvice `json:"metal,omitempty"`
}

// Fit estimates the leg's width from its readings and judges every size of the
// question's catalogue for it. It returns Estimate's errors, and an
// *InputError for a question that makes no sense.
func Fit(ws []Width, q Question, m Model) (Result, error) {
	if err := q.check(); err != nil {
		return Result{}, err
	}
	if q.Feathers != "" {
		m.Pooled, q.History = [3]Pooled{}, nil
	}
	leg, agreement, err := Estimate(ws, m)
	if err != nil {
		return Result{}, err
	}
	var oval *Oval
	if q.Cross != nil {
		oval = &Oval{}
		oval.Ovality, oval.U = Ovality(leg, *q.Cross)
	}
	sizes, best, warnings := Sizes(leg, q, m)
	own := readingWarnings(leg, agreement)
	return Result{
		Leg: leg, Agreement: agreement, Sizes: sizes, Best: best, Oval: oval,
		Warnings: inOrderOfHarm(append(warnings, own...)),
	}, nil
}
