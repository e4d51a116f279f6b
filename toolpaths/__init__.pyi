from toolpaths.api import Changes as Changes
from toolpaths.api import JobError as JobError
from toolpaths.api import judge as judge
from toolpaths.api import load_job as load_job
from toolpaths.api import plan as plan
from toolpaths.api import read as read
from toolpaths.api import simulate as simulate
from toolpaths.api import write as write

__version__: str
