/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/api_call.h"

enum rv_err rv_api_call_run(struct rv_api_call *call, int64_t *number)
{
	if (rv_text_to_int64(call->name, number) == RV_OK && *number > 0)
		return RV_OK;
	return rv_err_refuse(&call->error, "run_unknown", "there is no run \"%.60s\"", call->name);
}
