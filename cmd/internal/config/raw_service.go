package config

// rawMQTT names a broker or embeds one.
type rawMQTT struct {
	place
	Broker       text         `yaml:"broker" jsonschema:"example=tcp://127.0.0.1:1883" jsonschema_description:"URL of the broker: tcp, ssl, ws or wss."`
	ClientID     text         `yaml:"client_id" jsonschema:"example=wickd-yard" jsonschema_description:"Identity of the persistent session; made from the site's name when left out."`
	Username     text         `yaml:"username" jsonschema:"example=wickd" jsonschema_description:"User at the broker."`
	PasswordFile text         `yaml:"password_file" jsonschema:"example=mqtt-password" jsonschema_description:"File that holds the password."`
	PasswordEnv  text         `yaml:"password_env" jsonschema:"example=WICKD_MQTT_PASSWORD" jsonschema_description:"Environment variable that holds the password."`
	CAFile       text         `yaml:"ca_file" jsonschema:"example=ca.pem" jsonschema_description:"Certificates that the broker's own is checked against; the system's when left out."`
	Embedded     *rawEmbedded `yaml:"embedded" jsonschema:"example={listen: 0.0.0.0:1883}" jsonschema_description:"A broker inside wickd: sensors connect to it and no other is needed."`
	Ack          *rawAck      `yaml:"ack" jsonschema:"example={topic: wickd/ack}" jsonschema_description:"Takes answers to alerts by MQTT; none are taken when left out."`
}

type rawAck struct {
	place
	Topic   text `yaml:"topic" jsonschema:"required,example=wickd/ack" jsonschema_description:"Topic that answers are published to; what came of them is published under it, with /reply."`
	Trusted flag `yaml:"trusted" jsonschema:"example=true" jsonschema_description:"True: whoever may publish to the topic may answer without the signature that messages carry."`
}

type rawEmbedded struct {
	place
	Listen text               `yaml:"listen" jsonschema:"required,example=0.0.0.0:1883" jsonschema_description:"Address and port for sensors."`
	Users  map[string]rawUser `yaml:"users" jsonschema_description:"Who may connect, by user name; anybody when left out."`
}

type rawUser struct {
	place
	PasswordFile text `yaml:"password_file" jsonschema:"example=sensors-password" jsonschema_description:"File that holds the password."`
	PasswordEnv  text `yaml:"password_env" jsonschema:"example=SENSORS_PASSWORD" jsonschema_description:"Environment variable that holds the password."`
}

type rawNotify struct {
	place
	Recipients   map[string]rawRecipient `yaml:"recipients" jsonschema:"example={grower: {url_file: grower-url}}" jsonschema_description:"By name."`
	Alertmanager *rawAlertmanager        `yaml:"alertmanager" jsonschema:"example={url: \"http://127.0.0.1:9093\"}" jsonschema_description:"Hands all alerts to a Prometheus Alertmanager, which tells people, in place of recipients."`
	Relay        *rawRelay               `yaml:"relay" jsonschema:"example={url_file: relay-url}" jsonschema_description:"Where the button of a push message sends an answer, which passes it on to mqtt.ack; then nothing need reach wickd from outside."`
	PageURL      text                    `yaml:"page_url" jsonschema:"example=https://yard.example" jsonschema_description:"Where a phone reaches the page of this wickd; messages then carry a signed link to their alert."`
	Weekly       text                    `yaml:"weekly" jsonschema:"example=Sunday 18:00" jsonschema_description:"Day and time of the weekly digest, which is also the test that messages arrive; in the site's time zone. None when left out."`
	Heartbeat    *rawHeartbeat           `yaml:"heartbeat" jsonschema:"example={url_file: heartbeat-url, every: 5 min}" jsonschema_description:"A URL elsewhere that is called for as long as all is well inside wickd, so that somebody notices when it is not."`
}

type rawAlertmanager struct {
	place
	URL          text `yaml:"url" jsonschema:"required,example=http://127.0.0.1:9093" jsonschema_description:"Base URL of the server."`
	Username     text `yaml:"username" jsonschema:"example=wickd" jsonschema_description:"User of its basic authentication."`
	PasswordFile text `yaml:"password_file" jsonschema:"example=alertmanager-password" jsonschema_description:"File that holds the password."`
	PasswordEnv  text `yaml:"password_env" jsonschema:"example=WICKD_ALERTMANAGER_PASSWORD" jsonschema_description:"Environment variable that holds the password."`
}

type rawRelay struct {
	place
	URLFile text `yaml:"url_file" jsonschema:"example=relay-url" jsonschema_description:"File that holds the URL, which takes the answer by POST and publishes it to the topic of mqtt.ack."`
	URLEnv  text `yaml:"url_env" jsonschema:"example=WICKD_RELAY_URL" jsonschema_description:"Environment variable that holds the URL."`
}

type rawHeartbeat struct {
	place
	URLFile text     `yaml:"url_file" jsonschema:"example=heartbeat-url" jsonschema_description:"File that holds the URL."`
	URLEnv  text     `yaml:"url_env" jsonschema:"example=WICKD_HEARTBEAT_URL" jsonschema_description:"Environment variable that holds the URL."`
	Every   duration `yaml:"every" range:"1 min..1 d" jsonschema:"example=5 min" jsonschema_description:"How often; 5 min when left out."`
}

type rawRecipient struct {
	place
	URLFile     text `yaml:"url_file" jsonschema:"example=grower-url" jsonschema_description:"File that holds the service's URL with its secrets."`
	URLEnv      text `yaml:"url_env" jsonschema:"example=WICKD_GROWER_URL" jsonschema_description:"Environment variable that holds the service's URL."`
	MinPriority text `yaml:"min_priority" jsonschema:"enum=low,enum=medium,enum=high,enum=urgent,example=high" jsonschema_description:"Lowest priority that is sent; low when left out."`
	Quiet       text `yaml:"quiet" jsonschema:"example=\"22:00-06:00\"" jsonschema_description:"Hours in which only urgent alerts are sent, in the site's time zone."`

	EscalateAfter duration `yaml:"escalate_after" range:"1 min..7 d" jsonschema:"example=20 min" jsonschema_description:"Told only of what nobody has acknowledged for this long; of everything at once when left out."`
}

type rawInflux struct {
	place
	URL       text `yaml:"url" jsonschema:"required,example=http://127.0.0.1:8086" jsonschema_description:"Base URL of the server."`
	Org       text `yaml:"org" jsonschema:"example=yard" jsonschema_description:"Organisation; none on a 1.8 server."`
	Bucket    text `yaml:"bucket" jsonschema:"required,example=yard" jsonschema_description:"Bucket; database/policy on a 1.8 server."`
	TokenFile text `yaml:"token_file" jsonschema:"example=influx-token" jsonschema_description:"File that holds the token."`
	TokenEnv  text `yaml:"token_env" jsonschema:"example=WICKD_INFLUX_TOKEN" jsonschema_description:"Environment variable that holds the token."`
}

type rawAlerts struct {
	place
	Horizon    duration                `yaml:"horizon" range:"1 h..14 d" jsonschema:"example=48 h" jsonschema_description:"How far ahead drying and running out are forecast; 48 h when left out."`
	Reminders  map[string]duration     `yaml:"reminders" jsonschema:"example={urgent: 30 min}" jsonschema_description:"How often an alert that nobody acknowledged is repeated, by priority."`
	Conditions map[string]rawCondition `yaml:"conditions" jsonschema:"example={bag-dry: {on_delay: 20 min}}" jsonschema_description:"Changes by condition."`
}

type rawCondition struct {
	place
	Enabled  flag     `yaml:"enabled" jsonschema:"example=false" jsonschema_description:"False: never raised."`
	Priority text     `yaml:"priority" jsonschema:"enum=low,enum=medium,enum=high,enum=urgent,example=high" jsonschema_description:"How soon somebody must act."`
	OnDelay  duration `yaml:"on_delay" range:"0 s..7 d" jsonschema:"example=20 min" jsonschema_description:"How long it must hold before it is raised."`
	OffDelay duration `yaml:"off_delay" range:"0 s..7 d" jsonschema:"example=20 min" jsonschema_description:"How long it must be over before it clears."`
	Deadband loose    `yaml:"deadband" jsonschema_description:"How far past its limit it must come back to clear, with the unit of the limit."`
}
