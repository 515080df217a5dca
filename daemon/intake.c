/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/intake.h"

const char *rv_intake_fault_name(enum rv_fault fault)
{
	static const char *const names[RV_FAULTS] = {
	    [RV_FAULT_NONE] = "",
	    [RV_FAULT_TIMEOUT] = "time-out",
	    [RV_FAULT_LATE] = "late reply",
	    [RV_FAULT_CHECKSUM] = "checksum",
	    [RV_FAULT_EXCEPTION] = "exception",
	    [RV_FAULT_GARBLED] = "garbled",
	    [RV_FAULT_UNIT] = "unit",
	    [RV_FAULT_TOO_LONG] = "line too long",
	    [RV_FAULT_UNREACHABLE] = "unreachable",
	    [RV_FAULT_UNPLUGGED] = "unplugged",
	    [RV_FAULT_BUSY] = "busy",
	    [RV_FAULT_OVERFLOW] = "overflow",
	};

	return names[fault];
}
