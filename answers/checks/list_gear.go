package checks

func gearChecks() []*Check {
	return []*Check{
		crosseLength(), crosseChoice(), longCrosseCount(), crosseHead(), pocket(), stringing(), crosseEnd(),
		mouthguard(), helmet(), gloves(), gearList(), gearItem(), ball(), division(),
	}
}
