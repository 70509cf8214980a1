package fakeslack

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/gorilla/websocket"
)

// maxAck is how large an acknowledgement may be; Slack drops a larger one.
const maxAck = 20 * 1024

// conn is one WebSocket of a client.
type conn struct {
	ws   *websocket.Conn
	out  chan []byte
	gone chan struct{}
	once sync.Once
}

// kill breaks the connection without a word.
func (c *conn) kill() {
	c.once.Do(func() {
		close(c.gone)
		_ = c.ws.NetConn().Close()
	})
}

// write never blocks: a client that does not read loses its connection.
func (c *conn) write(b []byte) {
	select {
	case c.out <- b:
	case <-c.gone:
	default:
		c.kill()
	}
}

// pick is the connection whose turn it is; nil where none is open.
func (s *Server) pick() *conn {
	if len(s.conns) == 0 {
		return nil
	}
	s.turn++
	return s.conns[s.turn%len(s.conns)]
}

// newSocket is a WebSocket address that can be used once.
func (s *Server) newSocket() string {
	t := strings.ToLower(s.nextID("ticket"))
	s.tickets[t] = s.o.Now().Add(30 * time.Second)
	return "ws" + strings.TrimPrefix(s.URL, "http") + "/link/?ticket=" + t + "&app_id=" + s.o.AppID
}

func (s *Server) serveSocket(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	until, ok := s.tickets[r.URL.Query().Get("ticket")]
	delete(s.tickets, r.URL.Query().Get("ticket"))
	if !ok || s.o.Now().After(until) || s.closed {
		s.mu.Unlock()
		http.Error(w, "this address was used before or is too old", http.StatusForbidden)
		return
	}
	s.wg.Add(1) // under the lock, so that Close waits for it
	s.mu.Unlock()
	defer s.wg.Done()

	up := websocket.Upgrader{CheckOrigin: func(*http.Request) bool { return true }}
	ws, err := up.Upgrade(w, r, nil)
	if err != nil {
		s.o.Log.Debug("no WebSocket", "err", err)
		return
	}
	c := &conn{ws: ws, out: make(chan []byte, 8192), gone: make(chan struct{})}
	ws.SetReadLimit(1 << 20)
	s.greet(c)
	s.wg.Go(func() { s.writer(c) })
	s.reader(c)
	c.kill()
	s.shut(c)
}

// greet welcomes a connection and gives it what waits.
func (s *Server) greet(c *conn) {
	defer s.lock()()
	if s.closed {
		c.kill()
		return
	}
	s.conns = append(s.conns, c)
	s.ever++
	c.write(raw(obj{
		"type": "hello", "num_connections": len(s.conns), "connection_info": obj{"app_id": s.o.AppID},
		"debug_info": obj{"host": "applink-fake-1", "build_number": 1, "approximate_connection_time": 18060},
	}))
	waiting := s.waiting
	s.waiting = nil
	for _, d := range waiting {
		s.send(d)
	}
}

// shut takes a connection away; what it left unacknowledged goes to another.
func (s *Server) shut(c *conn) {
	defer s.lock()()
	s.conns = slices.DeleteFunc(s.conns, func(x *conn) bool { return x == c })
	for _, d := range s.deliveries {
		if d.on != c || d.Acked || d.GivenUp {
			continue
		}
		d.on = nil
		if d.Kind == kindEvent {
			s.send(d)
		} else {
			s.fail(d, "connection_closed")
		}
	}
}

func (s *Server) writer(c *conn) {
	ping := time.NewTicker(s.o.Ping)
	defer ping.Stop()
	// The first ping comes at once, as a client that counts from the start expects one in its first interval.
	_ = c.ws.WriteControl(websocket.PingMessage, []byte("0"), time.Now().Add(s.o.Ack))
	for {
		var err error
		select {
		case <-c.gone:
			return
		case b := <-c.out:
			if b == nil {
				bye := websocket.FormatCloseMessage(websocket.CloseNormalClosure, "")
				err = c.ws.WriteControl(websocket.CloseMessage, bye, time.Now().Add(s.o.Ack))
				_ = c.ws.SetReadDeadline(time.Now().Add(s.o.Ack))
				break
			}
			err = c.ws.WriteMessage(websocket.TextMessage, b)
		case now := <-ping.C:
			err = c.ws.WriteControl(websocket.PingMessage, []byte(now.Format(time.RFC3339Nano)), now.Add(s.o.Ack))
		}
		if err != nil {
			c.kill()
			return
		}
	}
}

func (s *Server) reader(c *conn) {
	for {
		t, b, err := c.ws.ReadMessage()
		if err != nil {
			return
		}
		s.ack(t, b)
	}
}

func (s *Server) ack(t int, b []byte) {
	defer s.lock()()
	var a struct {
		Envelope string          `json:"envelope_id"`
		Payload  json.RawMessage `json:"payload"`
	}
	refuse := func(why string) {
		s.refused = append(s.refused, Refusal{What: "ack", Err: why, At: s.o.Now()})
	}
	if t != websocket.TextMessage || json.Unmarshal(b, &a) != nil || a.Envelope == "" {
		refuse("not_an_acknowledgement")
		return
	}
	if len(b) > maxAck {
		refuse("payload_too_large")
		return
	}
	e, ok := s.envelopes[a.Envelope]
	if !ok {
		refuse("unknown_envelope")
		return
	}
	d := e.of
	if string(a.Payload) == "{}" {
		a.Payload = nil
	}
	if !d.accepts && len(a.Payload) > 0 && string(a.Payload) != "null" {
		refuse("payload_not_accepted")
		a.Payload = nil
	}
	s.acked(d, e.sent, a.Payload)
}

// DropConnections breaks every WebSocket without a word.
func (s *Server) DropConnections() {
	defer s.lock()()
	for _, c := range s.conns {
		c.kill()
	}
}

// Refresh asks every connection to reconnect (disconnect, refresh_requested). A
// connection takes events until its client closes it, or for grace at most.
func (s *Server) Refresh(grace time.Duration) {
	defer s.lock()()
	for _, c := range s.conns {
		s.bye(c, "refresh_requested")
		s.wg.Go(func() {
			t := time.NewTimer(grace)
			defer t.Stop()
			select {
			case <-t.C:
				c.write(nil)
			case <-c.gone:
			case <-s.done.Done():
			}
		})
	}
}

func (s *Server) bye(c *conn, reason string) {
	c.write(raw(obj{"type": "disconnect", "reason": reason, "debug_info": obj{"host": "applink-fake-1"}}))
}

// Disconnect sends a disconnect with a reason. The connections are closed after
// it, but for a warning, which only announces one.
func (s *Server) Disconnect(reason string) {
	defer s.lock()()
	for _, c := range s.conns {
		s.bye(c, reason)
		if reason != "warning" {
			c.write(nil)
		}
	}
}

// Connections is how many WebSockets are open.
func (s *Server) Connections() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.conns)
}

// Connected is how many WebSockets ever were open.
func (s *Server) Connected() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.ever
}
