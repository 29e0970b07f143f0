"""The report of a job on the screens: written, and shown where it is."""

from ...job.shop import Job
from ..bench import Bench
from .reportscreen import ReportScreen


async def hand_over(bench: Bench, job: Job) -> str:
    """Write it and say where. Returns what is to be said at the jobs. Raises UsageError or Failure."""
    # Templates and plots are for who writes a report only.
    from ...report.write import make_report

    made = make_report(job, bench.unit)
    await bench.app.push_screen_wait(ReportScreen(job.title, made.path))
    return ""
