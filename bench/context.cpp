#include "scenes/error.h"
