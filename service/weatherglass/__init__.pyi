from weatherglass.library.asking import review as review
from weatherglass.library.inputs import InputError as InputError
from weatherglass.library.options import OptionError as OptionError
from weatherglass.library.reviews import PatientReview as PatientReview
from weatherglass.library.reviews import Reviews as Reviews
from weatherglass.policy import PolicyError as PolicyError
from weatherglass.tables.arrow import ArrowTable as ArrowTable

__version__: str
