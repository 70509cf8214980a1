//go:build never

package bot

import (
	_ "github.com/fsnotify/fsnotify"
	_ "github.com/gorilla/websocket"
	_ "github.com/prometheus/client_golang/prometheus/promhttp"
	_ "github.com/slack-go/slack/slackevents"
	_ "github.com/slack-go/slack/socketmode"
	_ "maunium.net/go/mautrix"
	_ "maunium.net/go/mautrix/crypto/cryptohelper"
	_ "maunium.net/go/mautrix/format"
	_ "go.mau.fi/util/dbutil"
)
