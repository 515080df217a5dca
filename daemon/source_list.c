/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The kinds of wire: each link of a station and the source that reads it.
 */
#include "daemon/source.h"
#include "daemon/source_modbus.h"
#include "daemon/source_serial.h"

enum rv_err rv_source_new(const struct rv_station *station, int device,
			  void (*emit)(void *to, const struct rv_intake *intake), void *to,
			  struct rv_source **source, struct rv_error *error)
{
	const struct rv_source base = {
	    .station = station, .device = device, .emit = emit, .to = to};

	switch (station->device[device].link) {
	case RV_LINK_MODBUS_TCP:
	case RV_LINK_MODBUS_RTU:
		return rv_source_modbus_new(&base, source, error);
	case RV_LINK_SERIAL_TEXT:
	case RV_LINK_FILE:
		break;
	}
	return rv_source_serial_new(&base, source, error);
}
