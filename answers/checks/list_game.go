package checks

func gameChecks() []*Check {
	return []*Check{
		bodyCheck(), contactDistance(), restartDistance(), stickCheck(), foul(), playersAllowed(), foulLimit(),
		onsideCount(), gameFormat(), count(), clockMode(), lightning(), heat(), concussion(),
		releaseTime(),
	}
}
