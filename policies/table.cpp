#include "policies/table.h"
