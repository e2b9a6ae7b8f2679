"""An archive with all its parts."""

from tensionear.job.archive.contents import ArchiveContents
from tensionear.job.archive.history import ArchiveHistory
from tensionear.job.archive.jobs import ArchiveJobs
from tensionear.job.archive.records import ArchiveRecords
from tensionear.job.archive.search import ArchiveSearch
from tensionear.job.archive.setups import ArchiveSetups


class Archive(ArchiveSetups, ArchiveJobs, ArchiveContents, ArchiveSearch, ArchiveHistory, ArchiveRecords):
    """An open archive; `tensionear.job.archive.opening.open_archive` gives it.

    Every method is one transaction: what it wrote is on the disk when it returns, and of what it raises nothing was
    written. It may be used by any number of threads and programs at once.
    """
