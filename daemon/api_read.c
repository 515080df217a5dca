/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/api_read.h"

#include <stdlib.h>

#include "daemon/live_json.h"
#include "schema/review.h"
#include "schema/store.h"

json_t *rv_api_read_alarms(struct rv_api_call *call)
{
	struct rv_live *live = malloc(sizeof *live);
	json_t *json = NULL;

	if (!live)
		return NULL;
	rv_live_get(call->api->board, live);
	json = json_pack("{s:s,s:s,s:o}", "state", rv_live_json_state(live->state), "data",
			 rv_live_json_data(live->data), "alarms",
			 rv_live_json_alarms(live, call->api->station));
	free(live);
	return json;
}

static json_t *device(const struct rv_device *device, const struct rv_live_device *now)
{
	const char *fault = rv_intake_fault_name(now->fault);

	return json_pack("{s:s,s:s,s:s,s:b,s:s?,s:o,s:I,s:I}", "name", device->name, "link",
			 rv_station_link_name(device->link), "at",
			 device->link == RV_LINK_MODBUS_TCP ? device->address : device->path,
			 "open", (int)now->is_open, "fault", fault[0] ? fault : NULL, "text",
			 rv_json_text(now->text), "messages", (json_int_t)now->messages, "lost",
			 (json_int_t)now->lost);
}

json_t *rv_api_read_devices(struct rv_api_call *call)
{
	const struct rv_station *station = call->api->station;
	struct rv_live *live = malloc(sizeof *live);
	json_t *list = json_array();

	if (live)
		rv_live_get(call->api->board, live);
	for (int i = 0; live && i < station->devices; i++)
		json_array_append_new(list, device(&station->device[i], &live->device[i]));
	free(live);
	return json_pack("{s:o}", "devices", list);
}

json_t *rv_api_read_runs(struct rv_api_call *call)
{
	struct rv_store *store = NULL;
	json_t *json = NULL;

	if (rv_store_open_reader(call->api->record_path, &store, &call->error) != RV_OK)
		return NULL;
	if (rv_store_runs_json(store, &json, &call->error) != RV_OK)
		json = NULL;
	rv_store_close(store);
	return json;
}

json_t *rv_api_read_run(struct rv_api_call *call)
{
	struct rv_store *store = NULL;
	json_t *json = NULL;
	int64_t number = 0;

	if (rv_api_call_run(call, &number) != RV_OK ||
	    rv_store_open_reader(call->api->record_path, &store, &call->error) != RV_OK)
		return NULL;
	if (rv_review_run_json(store, number, &json, &call->error) != RV_OK)
		json = NULL;
	rv_store_close(store);
	return json;
}
