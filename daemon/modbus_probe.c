/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/modbus_probe.h"

static bool has_same_answer(const struct rv_regs_request *a, const struct rv_regs_request *b)
{
	return a->space == b->space && rv_regs_bytes(a) == rv_regs_bytes(b);
}

static void add_probe(struct rv_modbus_probes *probes, const struct rv_regs_plan *plan,
		      const struct rv_regs_request *request)
{
	struct rv_modbus_probe probe = {.request = *request, .is_own_function = true};

	for (int i = 0; i < plan->requests; i++) {
		if (has_same_answer(request, &plan->request[i]))
			return;
		if (request->space == plan->request[i].space)
			probe.is_own_function = false;
	}
	for (int i = 0; i < probes->count; i++)
		if (has_same_answer(request, &probes->probe[i].request))
			return;
	if (probes->count < RV_MODBUS_PROBES - 1)
		probes->probe[probes->count++] = probe;
}

/* Parts of the ordinary questions, of all even or all odd lengths, at most two of each. */
static void add_parts(struct rv_modbus_probes *probes, const struct rv_regs_plan *plan, int odd)
{
	for (int i = 0; i < plan->requests; i++) {
		struct rv_regs_request part = plan->request[i];
		if (rv_regs_is_bits(part.space))
			continue;
		part.count = part.count - 1 - ((part.count - 1 + odd) & 1);
		for (int k = 0; k < 2 && part.count > 0; k++, part.count -= 2)
			add_probe(probes, plan, &part);
	}
}

void rv_modbus_probe_choose(struct rv_modbus_probes *probes, const struct rv_regs_plan *plan)
{
	static const enum rv_register_space others[] = {RV_REGISTER_HOLDING, RV_REGISTER_INPUT,
							RV_REGISTER_DISCRETE, RV_REGISTER_COIL};

	*probes = (struct rv_modbus_probes){0};
	if (plan->requests == 0)
		return;
	add_parts(probes, plan, 0);
	for (int i = 0; i < 4; i++)
		add_probe(probes, plan, &(struct rv_regs_request){others[i], 0, 1});
	add_parts(probes, plan, 1);
	probes->probe[probes->count++] =
	    (struct rv_modbus_probe){.request = plan->request[0], .is_plain = true};
}

struct rv_modbus_probe *rv_modbus_probe_next(struct rv_modbus_probes *probes)
{
	struct rv_modbus_probe *probe;

	if (probes->count == 0)
		return NULL;
	do {
		probe = &probes->probe[probes->at];
		probes->at = (probes->at + 1) % probes->count;
	} while (probe->is_refused);
	return probe;
}
