from toolpaths.interface import Changes as Changes
from toolpaths.interface import JobError as JobError
from toolpaths.interface import judge as judge
from toolpaths.interface import load_job as load_job
from toolpaths.interface import plan as plan
from toolpaths.interface import read as read
from toolpaths.interface import simulate as simulate
from toolpaths.interface import write as write

__version__: str
