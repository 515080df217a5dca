/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_talk.h"

#include <string.h>

#include "tools/rehearse_line.h"

enum { MBAP = 7, CRC = 2 };

/* A piece of a serial request older than this belongs to nothing any more. */
static const double STALE_S = 0.05;

bool rv_rehearse_talk_is_active(const struct rv_rehearse_fault *fault, double round_s)
{
	return round_s >= fault->at_s && round_s < fault->at_s + fault->for_s;
}

/* The fault that falls on this message, or NULL. */
static const struct rv_rehearse_fault *trouble(const struct rv_rehearse_talker *talker,
					       double round_s)
{
	bool text = talker->wire.instrument->link == RV_REHEARSE_TEXT;

	for (int i = 0; i < talker->scenario->faults; i++) {
		const struct rv_rehearse_fault *fault = &talker->scenario->fault[i];
		if (fault->instrument != talker->instrument ||
		    !rv_rehearse_talk_is_active(fault, round_s))
			continue;
		if (text ? fault->kind == RV_REHEARSE_EXCEPTION
			 : fault->kind == RV_REHEARSE_WRONG_UNIT)
			continue;
		if (rv_rehearse_dice_even(talker->dice) < fault->share)
			return fault;
	}
	return NULL;
}

static void scramble(struct rv_rehearse_talker *talker, uint8_t *bytes, size_t len)
{
	for (size_t i = 0; i < len; i++)
		bytes[i] = (uint8_t)rv_rehearse_dice_bits(talker->dice);
}

/* Sends a message whole, or as the fault wants it.  True if it went out good. */
static bool play(struct rv_rehearse_talker *talker, int peer, uint8_t *bytes, size_t len,
		 const struct rv_rehearse_fault *fault, double now_s)
{
	enum rv_rehearse_fault_kind kind = fault ? fault->kind : RV_REHEARSE_FAULT_KINDS;

	talker->tally.messages++;
	if (fault)
		talker->tally.faults[kind]++;
	if (kind == RV_REHEARSE_SILENT)
		return false;
	if (kind == RV_REHEARSE_LATE) {
		(void)rv_rehearse_wire_send_later(&talker->wire, peer, bytes, len,
						  now_s + fault->by);
		return false;
	}
	if (kind == RV_REHEARSE_GARBAGE && talker->wire.instrument->link != RV_REHEARSE_TEXT)
		scramble(talker, bytes, len);
	if (kind == RV_REHEARSE_HALF)
		len /= 2;
	if (rv_rehearse_wire_send(&talker->wire, peer, bytes, len))
		return !fault;
	if (!fault)
		talker->tally.untaken++;
	return false;
}

/* The reply to one request's function and data; returns its length. */
static size_t reply_to(struct rv_rehearse_talker *talker, const uint8_t *pdu, size_t len,
		       const struct rv_rehearse_fault *fault, uint8_t reply[RV_REHEARSE_PDU])
{
	struct rv_rehearse_image image = {talker->wire.instrument, talker->shown};
	bool wrote = false;

	if (fault && fault->kind == RV_REHEARSE_EXCEPTION)
		return rv_rehearse_modbus_refuse(pdu[0], fault->code, reply);
	size_t reply_len = rv_rehearse_modbus_answer(image, pdu, len, reply, &wrote);
	talker->tally.writes += wrote;
	return reply_len;
}

static void count_reply(struct rv_rehearse_talker *talker, bool sent_good, uint8_t function)
{
	if (sent_good && function & 0x80)
		talker->tally.refused++;
	else if (sent_good)
		talker->tally.good++;
}

/* One request of Modbus TCP from the front of what came; false = none whole yet. */
static bool answer_tcp(struct rv_rehearse_talker *talker, int index, struct rv_rehearse_moment at)
{
	struct rv_rehearse_peer *peer = &talker->wire.peer[index];
	uint8_t frame[RV_REHEARSE_FRAME];

	if (peer->len < MBAP + 1)
		return false;
	size_t len = (size_t)peer->in[4] << 8 | peer->in[5];
	if (peer->in[2] || peer->in[3] || len < 2 || len > RV_REHEARSE_PDU + 1) {
		rv_rehearse_wire_drop(peer, peer->len); /* out of step: start afresh */
		return false;
	}
	if (peer->len < len + 6)
		return false;
	const struct rv_rehearse_fault *fault = trouble(talker, at.round_s);
	talker->tally.requests++;
	memcpy(frame, peer->in, MBAP);
	size_t reply;
	if (peer->in[6] == talker->wire.instrument->unit)
		reply = reply_to(talker, peer->in + MBAP, len - 1, fault, frame + MBAP);
	else
		reply =
		    rv_rehearse_modbus_refuse(peer->in[MBAP], RV_REHEARSE_NO_TARGET, frame + MBAP);
	frame[4] = (uint8_t)((reply + 1) >> 8);
	frame[5] = (uint8_t)(reply + 1);
	uint8_t function = frame[MBAP];
	rv_rehearse_wire_drop(peer, len + 6);
	count_reply(talker, play(talker, index, frame, MBAP + reply, fault, at.now_s), function);
	return true;
}

/* The same for Modbus RTU: address, function and data, CRC. */
static bool answer_rtu(struct rv_rehearse_talker *talker, struct rv_rehearse_moment at)
{
	struct rv_rehearse_peer *peer = &talker->wire.peer[0];
	uint8_t frame[RV_REHEARSE_FRAME];

	if (at.now_s - peer->last_s > STALE_S)
		rv_rehearse_wire_drop(peer, peer->len);
	int len = peer->len ? rv_rehearse_modbus_length(peer->in + 1, peer->len - 1) : 0;
	if (len == 0 || (len > 0 && peer->len < (size_t)len + 1 + CRC))
		return false;
	size_t whole = (size_t)len + 1 + CRC;
	/* What a real slave cannot follow it does not answer, nor what is for another. */
	if (len < 0 || rv_rehearse_modbus_crc(peer->in, whole) != 0) {
		rv_rehearse_wire_drop(peer, peer->len);
		return false;
	}
	if (peer->in[0] == talker->wire.instrument->unit) {
		const struct rv_rehearse_fault *fault = trouble(talker, at.round_s);
		talker->tally.requests++;
		frame[0] = peer->in[0];
		size_t reply = 1 + reply_to(talker, peer->in + 1, (size_t)len, fault, frame + 1);
		uint8_t function = frame[1];
		uint16_t crc = rv_rehearse_modbus_crc(frame, reply);
		frame[reply] = (uint8_t)crc;
		frame[reply + 1] = (uint8_t)(crc >> 8);
		count_reply(talker, play(talker, 0, frame, reply + CRC, fault, at.now_s), function);
	}
	rv_rehearse_wire_drop(peer, whole);
	return true;
}

/* A line that runs into a half one before it is lost with it. */
static void count_line(struct rv_rehearse_talker *talker, bool sent_good, bool ended)
{
	if (sent_good && talker->half_open)
		talker->tally.spoiled++;
	else if (sent_good)
		talker->tally.good++;
	if (ended) {
		talker->tally.endings++;
		talker->half_open = false;
	}
}

/* Noise leaves the ending of a line alone, so it stays one message; no byte of it may be an ending
 * or a good letter by chance. */
static void drown(struct rv_rehearse_talker *talker, char *line)
{
	size_t text = strcspn(line, "\r\n");

	for (size_t i = 0; i < text; i++)
		line[i] = (char)(128 + rv_rehearse_dice_bits(talker->dice) % 127);
}

void rv_rehearse_talk_line(struct rv_rehearse_talker *talker, struct rv_rehearse_moment at)
{
	char line[RV_REHEARSE_LINE];

	if (!talker->wire.peer[0].heard) {
		talker->tally.unheard++;
		talker->half_open = false;
		return;
	}
	const struct rv_rehearse_fault *fault = trouble(talker, at.round_s);
	enum rv_rehearse_fault_kind kind = fault ? fault->kind : RV_REHEARSE_FAULT_KINDS;
	const char *other = kind == RV_REHEARSE_WRONG_UNIT ? fault->unit : NULL;
	if (rv_rehearse_line_compose(talker->wire.instrument, talker->shown, other, line, NULL) !=
	    RV_OK)
		return; /* the template was tried when the scenario was read */
	if (kind == RV_REHEARSE_GARBAGE)
		drown(talker, line);
	bool good = play(talker, 0, (uint8_t *)line, strlen(line), fault, at.now_s);
	bool ended = !fault || kind == RV_REHEARSE_GARBAGE || kind == RV_REHEARSE_WRONG_UNIT;
	if (kind == RV_REHEARSE_HALF)
		talker->half_open = true;
	count_line(talker, good, ended);
}

static bool answer_ask(struct rv_rehearse_talker *talker, struct rv_rehearse_moment at)
{
	const struct rv_rehearse_instrument *instrument = talker->wire.instrument;
	struct rv_rehearse_peer *peer = &talker->wire.peer[0];
	size_t ask = (size_t)instrument->ask_len;

	if (ask == 0) {
		rv_rehearse_wire_drop(peer, peer->len);
		return false;
	}
	if (peer->len < ask)
		return false;
	if (memcmp(peer->in, instrument->ask, ask) != 0) {
		rv_rehearse_wire_drop(peer, 1);
		return true;
	}
	rv_rehearse_wire_drop(peer, ask);
	talker->tally.requests++;
	rv_rehearse_talk_line(talker, at);
	return true;
}

void rv_rehearse_talk_answer(struct rv_rehearse_talker *talker, struct rv_rehearse_moment at)
{
	for (int i = 0; i < RV_REHEARSE_PEERS; i++) {
		if (talker->wire.peer[i].fd < 0)
			continue;
		switch (talker->wire.instrument->link) {
		case RV_REHEARSE_TCP:
			while (answer_tcp(talker, i, at))
				;
			break;
		case RV_REHEARSE_RTU:
			while (answer_rtu(talker, at))
				;
			break;
		case RV_REHEARSE_TEXT:
			while (answer_ask(talker, at))
				;
			break;
		}
	}
}
