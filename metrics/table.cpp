#include "metrics/metric.h"
