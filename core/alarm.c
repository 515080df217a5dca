/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Transitions; "." = stays.  on/off: the condition, its delay over.  The column "off" has the state
 * of a latching alarm after the stroke.  "back" takes a shelved or removed alarm back: to
 * unacknowledged while its condition stands, else to normal.
 *
 *                          on      off     acknow- reset   renew   shelve  unshelve remove  restore
 *                                          ledge
 *  normal                  unack   .       .       .       .       shelved .        out     .
 *  unacknowledged          .       ret/lu  ack     .       .       shelved .        out     .
 *  acknowledged            .       norm/la .       .       unack   shelved .        out     .
 *  returned unacknowledged unack   .       norm    .       .       shelved .        out     .
 *  latched unacknowledged  unack   .       la      ret     .       shelved .        out     .
 *  latched acknowledged    unack   .       .       norm    .       shelved .        out     .
 *  shelved                 .       .       .       .       .       .       back     out     .
 *  out of service          .       .       .       .       .       .       .        .       back
 *
 * Nothing but an acknowledgement takes an unacknowledged alarm away, and nothing but the condition
 * ends an active one.
 */
#include "core/alarm.h"

enum event { ON, OFF, ACKNOWLEDGE, RESET, RENEW, SHELVE, UNSHELVE, REMOVE, RESTORE, EVENTS };

#define NORMAL RV_ALARM_NORMAL
#define UNACK RV_ALARM_UNACKNOWLEDGED
#define ACK RV_ALARM_ACKNOWLEDGED
#define RET RV_ALARM_RETURNED_UNACKNOWLEDGED
#define LU RV_ALARM_LATCHED_UNACKNOWLEDGED
#define LA RV_ALARM_LATCHED_ACKNOWLEDGED
#define SHELVED RV_ALARM_SHELVED
#define OUT RV_ALARM_OUT_OF_SERVICE

/* clang-format off */
static const enum rv_alarm_state after[RV_ALARM_STATES][EVENTS] = {
	/*            on       off      ackn.    reset    renew    shelve   unshelve remove   restore */
	[NORMAL]  = { UNACK,   NORMAL,  NORMAL,  NORMAL,  NORMAL,  SHELVED, NORMAL,  OUT,     NORMAL },
	[UNACK]   = { UNACK,   RET,     ACK,     UNACK,   UNACK,   SHELVED, UNACK,   OUT,     UNACK },
	[ACK]     = { ACK,     NORMAL,  ACK,     ACK,     UNACK,   SHELVED, ACK,     OUT,     ACK },
	[RET]     = { UNACK,   RET,     NORMAL,  RET,     RET,     SHELVED, RET,     OUT,     RET },
	[LU]      = { UNACK,   LU,      LA,      RET,     LU,      SHELVED, LU,      OUT,     LU },
	[LA]      = { UNACK,   LA,      LA,      NORMAL,  LA,      SHELVED, LA,      OUT,     LA },
	[SHELVED] = { SHELVED, SHELVED, SHELVED, SHELVED, SHELVED, SHELVED, NORMAL,  OUT,     SHELVED },
	[OUT]     = { OUT,     OUT,     OUT,     OUT,     OUT,     OUT,     OUT,     OUT,     NORMAL },
};
/* clang-format on */

const char *rv_alarm_state_name(enum rv_alarm_state state)
{
	static const char *const names[RV_ALARM_STATES] = {
	    [NORMAL] = "normal",
	    [UNACK] = "unacknowledged",
	    [ACK] = "acknowledged",
	    [RET] = "returned unacknowledged",
	    [LU] = "latched unacknowledged",
	    [LA] = "latched acknowledged",
	    [SHELVED] = "shelved",
	    [OUT] = "out of service",
	};

	return names[state];
}

static bool happen(struct rv_alarm *alarm, enum event event, int64_t mono_ns)
{
	enum rv_alarm_state was = alarm->state;
	enum rv_alarm_state now = after[was][event];

	if (now == was)
		return false;
	if (event == OFF && alarm->latch) /* from unacknowledged or acknowledged only */
		now = was == UNACK ? LU : LA;
	if ((event == UNSHELVE || event == RESTORE) && alarm->holds)
		now = UNACK;
	alarm->state = now;
	alarm->since_ns = mono_ns;
	return true;
}

bool rv_alarm_see(struct rv_alarm *alarm, bool condition, int64_t mono_ns)
{
	if (condition == alarm->holds) {
		alarm->pending_ns = 0;
		return false;
	}
	if (alarm->pending_ns == 0)
		alarm->pending_ns = mono_ns;
	double wait_s = condition ? alarm->delay_s : alarm->clear_delay_s;
	if ((double)(mono_ns - alarm->pending_ns) < wait_s * 1e9) /* false for a NaN */
		return false;
	alarm->holds = condition;
	alarm->pending_ns = 0;
	return happen(alarm, condition ? ON : OFF, mono_ns);
}

bool rv_alarm_acknowledge(struct rv_alarm *alarm, int64_t mono_ns)
{
	return happen(alarm, ACKNOWLEDGE, mono_ns);
}

bool rv_alarm_reset(struct rv_alarm *alarm, int64_t mono_ns)
{
	return happen(alarm, RESET, mono_ns);
}

bool rv_alarm_renew(struct rv_alarm *alarm, int64_t mono_ns)
{
	return happen(alarm, RENEW, mono_ns);
}

bool rv_alarm_shelve(struct rv_alarm *alarm, int64_t mono_ns)
{
	return happen(alarm, SHELVE, mono_ns);
}

bool rv_alarm_unshelve(struct rv_alarm *alarm, int64_t mono_ns)
{
	return happen(alarm, UNSHELVE, mono_ns);
}

bool rv_alarm_remove(struct rv_alarm *alarm, int64_t mono_ns)
{
	return happen(alarm, REMOVE, mono_ns);
}

bool rv_alarm_restore(struct rv_alarm *alarm, int64_t mono_ns)
{
	return happen(alarm, RESTORE, mono_ns);
}

bool rv_alarm_is_active(const struct rv_alarm *alarm)
{
	return alarm->state == UNACK || alarm->state == ACK;
}
