/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/output.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>

#include "daemon/clock.h"
#include "daemon/modbus_link.h"

static const int64_t REFRESH_NS = 1000000000;
static const int64_t RETRY_NS = 250000000;
static const int64_t SLICE_NS = 50000000;

/* The outputs of one device. */
struct driver {
	struct rv_outputs *all;
	int device;
	pthread_t thread;
	bool is_running;
	struct rv_modbus_link *link;
	bool is_open;
};

struct rv_outputs {
	const struct rv_station *station;
	struct rv_output_report report;
	pthread_mutex_t lock;
	pthread_cond_t changed;
	bool stopping;
	unsigned int changes;
	bool active[RV_OUTPUTS];
	bool failed[RV_OUTPUTS]; /* each used by its driver's thread only */
	int drivers;
	struct driver driver[RV_DEVICES];
};

static void tell(struct rv_outputs *all, int output, bool failed, const char *text)
{
	if (all->failed[output] == failed)
		return;
	all->failed[output] = failed;
	all->report.tell(all->report.to, output, failed, text);
}

static void tell_all(struct driver *driver, const char *text)
{
	for (int i = 0; i < driver->all->station->outputs; i++)
		if (driver->all->station->output[i].device == driver->device)
			tell(driver->all, i, true, text);
}

/* Opens the wire and gets into step.  False: not this time. */
static bool make_ready(struct driver *driver)
{
	struct rv_modbus_trouble trouble;
	struct rv_error error = {0};
	enum rv_fault fault;
	enum rv_err err = RV_OK;
	const struct rv_device *device = &driver->all->station->device[driver->device];
	int64_t end_ns = rv_clock_mono_ns() + (int64_t)(3e9 * device->timeout_s);

	if (!driver->is_open && rv_modbus_link_open(driver->link, &fault, &error) != RV_OK) {
		tell_all(driver, error.text);
		return false;
	}
	driver->is_open = true;
	do {
		err = rv_modbus_link_recover(driver->link, SLICE_NS, &trouble);
		if (err != RV_OK && trouble.fault != RV_FAULT_NONE)
			tell_all(driver, trouble.text);
	} while (err == RV_ERR_AGAIN && rv_clock_mono_ns() < end_ns);
	if (err == RV_ERR_CLOSED) {
		rv_modbus_link_close(driver->link);
		driver->is_open = false;
	}
	return err == RV_OK;
}

/* Writes all outputs of the device and reads them back.  False: at least one failed. */
static bool write_all(struct driver *driver, const bool *energised)
{
	const struct rv_station *station = driver->all->station;
	bool good = make_ready(driver);

	for (int i = 0; i < station->outputs && driver->is_open && good; i++) {
		struct rv_modbus_trouble trouble = {0};
		if (station->output[i].device != driver->device)
			continue;
		enum rv_err err = rv_modbus_link_write_coil(driver->link, station->output[i].coil,
							    energised[i], &trouble);
		tell(driver->all, i, err != RV_OK, trouble.text);
		good = good && (err == RV_OK || err == RV_ERR_REFUSED);
		if (err == RV_ERR_CLOSED) {
			rv_modbus_link_close(driver->link);
			driver->is_open = false;
		}
	}
	return good;
}

/* Waits for a change, a stop or until until_ns; copies what is wanted.  True: go on. */
static bool await(struct rv_outputs *all, unsigned int *seen, int64_t until_ns, bool *energised)
{
	pthread_mutex_lock(&all->lock);
	while (!all->stopping && all->changes == *seen && rv_clock_mono_ns() < until_ns) {
		struct timespec until;
		rv_clock_wait_time(until_ns, &until);
		pthread_cond_timedwait(&all->changed, &all->lock, &until);
	}
	bool go_on = !all->stopping;
	*seen = all->changes;
	for (int i = 0; i < all->station->outputs; i++)
		energised[i] = go_on && all->active[i] != all->station->output[i].rest_energised;
	pthread_mutex_unlock(&all->lock);
	return go_on;
}

static void *run(void *data)
{
	struct driver *driver = data;
	bool energised[RV_OUTPUTS] = {false};
	unsigned int seen = 0;
	int64_t next_ns = 0;

	while (await(driver->all, &seen, next_ns, energised)) {
		bool good = write_all(driver, energised);
		next_ns = rv_clock_mono_ns() + (good ? REFRESH_NS : RETRY_NS);
	}
	if (driver->is_open)
		(void)write_all(driver, energised);
	rv_modbus_link_close(driver->link);
	return NULL;
}

static enum rv_err check_output(const struct rv_station *station, const struct rv_output *output,
				struct rv_error *error)
{
	const struct rv_device *device = &station->device[output->device];

	if (device->link == RV_LINK_SERIAL_TEXT)
		return rv_err_set(error, RV_ERR_REFUSED,
				  "output %s: device %s is a text stream and has no coils",
				  output->name, device->name);
	if (!rv_station_may_write(station, output->device))
		return rv_err_set(error, RV_ERR_REFUSED,
				  "output %s: device %s carries a channel; put the output on "
				  "another device, or say `write: true` there",
				  output->name, device->name);
	if (device->link == RV_LINK_MODBUS_RTU &&
	    rv_station_channel_at(station, output->device, 0) >= 0)
		return rv_err_set(error, RV_ERR_REFUSED,
				  "output %s: the reader of device %s holds its serial port; put "
				  "the output on a port of its own or on Modbus TCP",
				  output->name, device->name);
	return RV_OK;
}

static enum rv_err start_driver(struct rv_outputs *all, int device, int coil,
				struct rv_error *error)
{
	struct driver *driver = &all->driver[all->drivers++];
	const struct rv_regs_plan plan = {.requests = 1, .request = {{RV_REGISTER_COIL, coil, 1}}};

	driver->all = all;
	driver->device = device;
	enum rv_err err = rv_modbus_link_new(&all->station->device[device], &driver->link, error);
	if (err != RV_OK)
		return err;
	rv_modbus_link_expect(driver->link, &plan);
	if (pthread_create(&driver->thread, NULL, run, driver) != 0)
		return rv_err_set(error, RV_ERR_SYSTEM, "no thread for the outputs of %s",
				  all->station->device[device].name);
	driver->is_running = true;
	return RV_OK;
}

static bool has_driver(const struct rv_outputs *all, int device)
{
	for (int i = 0; i < all->drivers; i++)
		if (all->driver[i].device == device)
			return true;
	return false;
}

enum rv_err rv_output_start(const struct rv_station *station, const struct rv_output_report *report,
			    struct rv_outputs **outputs, struct rv_error *error)
{
	struct rv_outputs *made = calloc(1, sizeof *made);
	pthread_condattr_t how;
	enum rv_err err = RV_OK;

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory");
	made->station = station;
	made->report = *report;
	pthread_mutex_init(&made->lock, NULL);
	pthread_condattr_init(&how);
	pthread_condattr_setclock(&how, CLOCK_MONOTONIC);
	pthread_cond_init(&made->changed, &how);
	pthread_condattr_destroy(&how);
	for (int i = 0; i < station->outputs && err == RV_OK; i++)
		err = check_output(station, &station->output[i], error);
	for (int i = 0; i < station->outputs && err == RV_OK; i++)
		if (!has_driver(made, station->output[i].device))
			err = start_driver(made, station->output[i].device, station->output[i].coil,
					   error);
	if (err != RV_OK) {
		rv_output_stop(made);
		return err;
	}
	*outputs = made;
	return RV_OK;
}

void rv_output_drive(struct rv_outputs *outputs, int output, bool active)
{
	pthread_mutex_lock(&outputs->lock);
	if (outputs->active[output] != active) {
		outputs->active[output] = active;
		outputs->changes++;
		pthread_cond_broadcast(&outputs->changed);
	}
	pthread_mutex_unlock(&outputs->lock);
}

void rv_output_stop(struct rv_outputs *outputs)
{
	if (!outputs)
		return;
	pthread_mutex_lock(&outputs->lock);
	outputs->stopping = true;
	pthread_cond_broadcast(&outputs->changed);
	pthread_mutex_unlock(&outputs->lock);
	for (int i = 0; i < outputs->drivers; i++) {
		if (outputs->driver[i].is_running)
			pthread_join(outputs->driver[i].thread, NULL);
		rv_modbus_link_free(outputs->driver[i].link);
	}
	pthread_cond_destroy(&outputs->changed);
	pthread_mutex_destroy(&outputs->lock);
	free(outputs);
}
