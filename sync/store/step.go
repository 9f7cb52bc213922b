package store

// Step is a write beside the journal, made in the same transaction as what it belongs to: an action
// and the event that reports it are both there after a power cut, or neither is.
type Step struct {
	do func(*Store, *transaction) error
}

// Keep writes some steps in one transaction, synced when it returns.
func (s *Store) Keep(steps ...Step) error {
	if len(steps) == 0 {
		return nil
	}
	return s.together(func(tx *transaction) error { return s.steps(tx, steps) })
}

func (s *Store) steps(tx *transaction, steps []Step) error {
	for _, one := range steps {
		if err := one.do(s, tx); err != nil {
			return err
		}
	}
	return nil
}
