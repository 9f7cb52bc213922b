package pgtest

import (
	"context"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// TestKilledAtWork checks that nothing of a killed server goes on, not even what calculates and
// would not notice for long, so that another one can begin in its folder at once.
func TestKilledAtWork(t *testing.T) {
	s := Start(t)
	for range 2 {
		line, err := connect(s)
		for range 100 { // what was killed recovers first
			if err == nil {
				break
			}
			time.Sleep(100 * time.Millisecond)
			line, err = connect(s)
		}
		if err != nil {
			t.Fatal(err)
		}
		ended := make(chan error)
		go func() {
			_, err := line.Exec(context.Background(), "select sum(sqrt(n)) from generate_series(1, 2e9) n")
			ended <- err
		}()
		time.Sleep(300 * time.Millisecond) // the query is under way, or else nothing is tested
		if len(s.helpers()) < 2 {
			t.Fatal("no helper is seen at work")
		}
		s.Kill()
		if left := s.helpers(); len(left) > 0 {
			t.Fatalf("%d helpers go on", len(left))
		}
		if <-ended == nil {
			t.Error("the query ended well")
		}
		s.Run()
	}
}

func connect(s *Server) (*pgx.Conn, error) {
	return pgx.Connect(context.Background(), "postgres://gauges@/postgres?sslmode=disable&host="+s.dir)
}
