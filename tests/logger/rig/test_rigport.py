import asyncio

import clockwork
import pytest

from coaxly.logger.rig.rigport import RigClock


@pytest.mark.parametrize("speed", [1.0, 20.0])
def test_the_rigs_time_stands_still_while_it_cannot_speak_and_never_runs_back(speed):
    async def main():
        clock = RigClock(speed)
        times = [clock()]
        for stuck in (0.1, 0.3, 40.0, 0.2):
            await asyncio.sleep(stuck / speed)
            times.append(clock())
            clock.spoke()
            times.append(clock())
        assert times == sorted(times)
        assert times[-1] == pytest.approx(0.1 + 0.3 + 0.5 + 0.2, abs=1e-3)

    clockwork.run(main())


def test_whoever_waits_for_a_time_of_the_rig_waits_for_the_rig():
    async def main():
        clock = RigClock()
        waiting = asyncio.create_task(clock.until(2.0))
        await asyncio.sleep(100.0)
        assert not waiting.done()
        while not waiting.done():
            clock.spoke()
            await asyncio.sleep(0.1)
        assert clock() == pytest.approx(2.0, abs=0.11)

    clockwork.run(main())
